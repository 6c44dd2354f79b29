package levels

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"

	"golang.org/x/sync/errgroup"

	"foldout/plan/patch"
	"foldout/plan/rig"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

// Options say how a sheet is measured.
type Options struct {
	Folder    string                  // where the tracks are; "" for the sheet's own folder
	Offsets   []sheet.Offset          // for Loudness: where files begin (Measure has that from its sheet)
	SameStart bool                    // take all files to begin together, whatever their time references say
	Progress  func(done, total int64) // frames of the session; may be nil
}

// Measure sums and measures every pair of a sheet and their total. A nil rig stands for rig.Plain, and a note says so.
// Errors are those of stems.Open, of patch.Make (the sheet contradicts the rig), of reading, and of ctx.
func Measure(ctx context.Context, sheet *sheet.Sheet, r *rig.Rig, opt Options) (*Levels, error) {
	if sheet == nil || len(sheet.Pairs) == 0 {
		return nil, errors.New("the sheet has no pairs")
	}
	if r == nil {
		sheet, r = patch.Plain(sheet)
	}
	patched, err := patch.Make(sheet, r)
	if err != nil {
		return nil, err
	}
	session, err := stems.Open(sheet, stems.Options{Folder: opt.Folder, PanGain: r.PanGain(), SameStart: opt.SameStart})
	if err != nil {
		return nil, err
	}
	run, err := listen(ctx, session, patched, r, opt.Progress)
	if err != nil {
		return nil, err
	}
	l := &Levels{
		Schema: SchemaVersion, Title: sheet.Title, Rig: r.Name, Unit: r.Summing.Name, Alignment: r.Alignment, OperatingDBu: r.Summing.OperatingDBu, MaxInputDBu: r.Summing.MaxInputDBu, Pan: r.Pan,
		RateHz: session.RateHz, DurationS: float64(session.Frames) / float64(session.RateHz), Pairs: []Pair{},
		Total: run.total.result(r.Alignment.VU - r.Alignment.DBFS),
		Notes: append(append([]string{}, session.Notes...), r.Assumed...), Cautions: patch.Cautions,
	}
	for _, lane := range run.lanes {
		p, err := lane.figures(r, session)
		if err != nil {
			return nil, err
		}
		l.Pairs = append(l.Pairs, p)
		l.Notes = append(l.Notes, lane.damage...)
	}
	l.Common, l.Interfaces = common(l.Pairs), boxes(l.Pairs)
	if l.Differ() {
		l.Notes = append(l.Notes, l.differWords())
	}
	l.Notes = append(l.Notes, l.remarks(sheet)...)
	if zero := r.Alignment.DBu - r.Alignment.VU; zero != r.Summing.OperatingDBu {
		l.Notes = append(l.Notes, fmt.Sprintf("0 VU is %+g dBu by the alignment, the unit's operating level %+g dBu: trims aim at the latter", zero, r.Summing.OperatingDBu))
	}
	return l, nil
}

// lane is one pair being measured.
type lane struct {
	mix     *stems.Mix
	patch   patch.Lane
	box     *rig.Interface
	meter   *meter
	overs   *stems.Overs
	between *between
	blocks  chan block
	free    chan block
	damage  []string // of its tracks, see stems.Summer.Damage
}

type block struct {
	planes [2][]float64
	frames int
}

func (b block) cut() [2][]float64 {
	return [2][]float64{b.planes[0][:b.frames], b.planes[1][:b.frames]}
}

type pass struct {
	lanes []*lane
	total *meter
}

// ahead is how many blocks a pair may be ahead of the total.
const ahead = 2

// listen runs the pass: one goroutine per pair sums and measures, one adds the pairs up to the total.
func listen(ctx context.Context, s *stems.Session, patched *patch.Patch, r *rig.Rig, progress func(done, total int64)) (*pass, error) {
	p := &pass{total: newMeter(s.RateHz)}
	at := map[int]patch.Lane{}
	for _, l := range patched.Lanes {
		at[l.Number] = l
	}
	for i := range s.Mixes {
		m := &s.Mixes[i]
		if len(m.Tracks) == 0 {
			continue
		}
		l := &lane{mix: m, patch: at[m.Number], meter: newMeter(s.RateHz), blocks: make(chan block, ahead), free: make(chan block, ahead)}
		box, ok := r.Interface(l.patch.Interface)
		if !ok {
			return nil, fmt.Errorf("pair %d (%s) has no interface in this rig", m.Number, m.Name)
		}
		l.box = box
		l.overs = stems.NewOvers(l.limit(r), s.RateHz)
		l.between = newBetween(s.RateHz)
		for range ahead {
			l.free <- block{planes: [2][]float64{make([]float64, stems.BlockFrames), make([]float64, stems.BlockFrames)}}
		}
		p.lanes = append(p.lanes, l)
	}
	group, ctx := errgroup.WithContext(ctx)
	for _, l := range p.lanes {
		group.Go(func() error { return l.run(ctx) })
	}
	var done int64
	group.Go(func() error {
		return p.add(ctx, func(frames int) {
			if progress != nil {
				done += int64(frames)
				progress(done, s.Frames)
			}
		})
	})
	if err := group.Wait(); err != nil {
		return nil, err
	}
	return p, nil
}

// limit is the magnitude above which converter or unit clips.
func (l *lane) limit(r *rig.Rig) float64 {
	return min(1, math.Pow(10, l.box.DBFS(r.Summing.MaxInputDBu)/20))
}

// run sums and measures one pair and hands its blocks on.
func (l *lane) run(ctx context.Context) (err error) {
	defer close(l.blocks)
	sum, err := l.mix.Open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, sum.Close()) }()
	for {
		var b block
		select {
		case b = <-l.free:
		case <-ctx.Done():
			return ctx.Err()
		}
		b.frames, err = sum.Read(b.planes)
		if err == io.EOF {
			l.overs.Done()
			l.damage = sum.Damage()
			return nil
		}
		if err != nil {
			return err
		}
		l.meter.write(b.cut())
		l.overs.Watch(b.cut())
		l.between.look(b.cut(), l.overs)
		select {
		case l.blocks <- b:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// add sums the pairs block by block and measures the total.
func (p *pass) add(ctx context.Context, progress func(int)) error {
	total := [2][]float64{make([]float64, stems.BlockFrames), make([]float64, stems.BlockFrames)}
	for {
		frames := 0
		for n, l := range p.lanes {
			b, ok := <-l.blocks
			if !ok {
				return ctx.Err()
			}
			frames = b.frames
			for side, plane := range b.cut() {
				if n == 0 {
					copy(total[side], plane)
					continue
				}
				sum := total[side][:len(plane)]
				for i, v := range plane {
					sum[i] += v
				}
			}
			l.free <- b
		}
		p.total.write([2][]float64{total[0][:frames], total[1][:frames]})
		progress(frames)
	}
}
