// Package lesson finds out what tracks do to one another in a shared channel, on the user's own tracks, and what of it
// can be heard. In go a sheet and the folder of its tracks; out come, for a soft channel driven to the operating level:
//
//   - how much the neighbours of a track modulate its level, slowly (it dips when they are loud) and fast (at the rates of
//     their low notes, which is heard as roughness), beside the thresholds of hearing;
//   - what the channels add that the whole mix does not mask;
//   - the drive from which either begins to matter; and all of it once more for folds with the same tracks shuffled.
//
// With s the track and z the sum of its neighbours, the channel y = x + a2 x^2 + a3 x^3 (package channel) passes s with the
// gain 1 + 2 a2 z + 3 a3 z^2: the second order modulates it with the neighbours' waveform, the third lowers it by their
// power. Everything is computed on an excerpt in mono, each pair brought to the level at which its loud passages have the
// power of a sine at the operating level.
//
// Thresholds: modulation of a steady carrier is heard from about m = 5 % on (Viemeister 1979 for noise below 50 Hz; Zwicker
// and Fastl give 2 to 6 % for tones and 4 % for noise at 4 Hz; both from memory). Nobody's table for a voice under a kick was
// found; the kick also masks.
package lesson

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"

	"foldout/plan/sheet"
	"foldout/plan/stems"
)

// excerptS is the length of the excerpt in seconds (chosen: two or more bars of anything, and a hundred tracks fit memory).
const excerptS = 20.0

// Excerpt is the loudest stretch of a session, in mono.
type Excerpt struct {
	RateHz int
	StartS float64
	Files  []string
	Pair   []int // pair of each track, from 0
	Pairs  int
	Names  []string // of the pairs
	x      [][]float32
	low    [][]float64 // of each track, 20 to 150 Hz, lowRateHz samples a second
}

// Load reads the excerpt of a sheet's tracks. Progress counts tracks, twice each.
func Load(ctx context.Context, doc *sheet.Sheet, opt stems.Options, progress func(done, total int64)) (*Excerpt, error) {
	e := &Excerpt{Pairs: len(doc.Pairs)}
	single := *doc
	single.Pairs = nil
	for q, p := range doc.Pairs {
		e.Names = append(e.Names, p.Name)
		for _, t := range p.Tracks {
			e.Files, e.Pair = append(e.Files, t.File), append(e.Pair, q)
			single.Pairs = append(single.Pairs, sheet.Pair{Name: t.File, Tracks: []sheet.Placement{t}})
		}
	}
	if len(e.Files) == 0 {
		return nil, errors.New("the sheet has no tracks")
	}
	s, err := stems.Open(&single, opt)
	if err != nil {
		return nil, err
	}
	e.RateHz = s.RateHz
	var done int64
	tick := func() {
		if progress != nil {
			done++
			progress(done, int64(2*len(s.Mixes)))
		}
	}
	start, err := loudest(ctx, s, tick)
	if err != nil {
		return nil, err
	}
	e.StartS = float64(start) / float64(s.RateHz)
	frames := int(min(s.Frames-start, int64(excerptS*float64(s.RateHz))))
	e.x, e.low = make([][]float32, len(s.Mixes)), make([][]float64, len(s.Mixes))
	return e, each(ctx, len(s.Mixes), func(n int) error {
		x := make([]float32, 0, frames)
		err := read(&s.Mixes[n], start, frames, func(block []float64) {
			for _, v := range block {
				x = append(x, float32(v))
			}
		})
		e.x[n], e.low[n] = x, lowBand(x, s.RateHz)
		return err
	}, tick)
}

// each runs a job for every track, on all cores, and tells when one is done.
func each(ctx context.Context, n int, job func(n int) error, tick func()) error {
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	finished := make(chan struct{}, n)
	for k := range n {
		group.Go(func() error {
			defer func() { finished <- struct{}{} }()
			if ctx.Err() != nil {
				return ctx.Err()
			}
			return job(k)
		})
	}
	for range n {
		<-finished
		tick()
	}
	return group.Wait()
}

// loudest is the frame at which the excerpt with the most power begins.
func loudest(ctx context.Context, s *stems.Session, tick func()) (int64, error) {
	hop := max(1, s.RateHz/10)
	power := make([][]float64, len(s.Mixes))
	err := each(ctx, len(s.Mixes), func(n int) error {
		at := 0
		return read(&s.Mixes[n], 0, int(s.Frames), func(block []float64) {
			for _, v := range block {
				if at/hop >= len(power[n]) {
					power[n] = append(power[n], 0)
				}
				power[n][at/hop] += v * v
				at++
			}
		})
	}, tick)
	if err != nil {
		return 0, err
	}
	var sum []float64
	for _, p := range power {
		for h, v := range p {
			if h == len(sum) {
				sum = append(sum, 0)
			}
			sum[h] += v
		}
	}
	wide := int(excerptS * 10)
	best, at := -1.0, 0
	for h := 0; h == 0 || h+wide <= len(sum); h++ {
		var v float64
		for _, p := range sum[h:min(len(sum), h+wide)] {
			v += p
		}
		if v > best {
			best, at = v, h
		}
	}
	return int64(at) * int64(hop), nil
}

// read hands out a mix in mono, block by block.
func read(m *stems.Mix, from int64, frames int, take func(block []float64)) (err error) {
	sum, err := m.Open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, sum.Close()) }()
	if from > 0 {
		if err := sum.SeekFrame(from); err != nil {
			return err
		}
	}
	planes := [2][]float64{make([]float64, stems.BlockFrames), make([]float64, stems.BlockFrames)}
	mono := make([]float64, stems.BlockFrames)
	for frames > 0 {
		n, err := sum.Read([2][]float64{planes[0][:min(frames, len(mono))], planes[1][:min(frames, len(mono))]})
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("%s: %w", m.Name, err)
		}
		for i := range n {
			mono[i] = (planes[0][i] + planes[1][i]) / 2
		}
		take(mono[:n])
		frames -= n
	}
	return nil
}

// The band of low notes and its rate.
const (
	lowFromHz = 20.0
	lowToHz   = 150.0
	lowRateHz = 1000
)

// lowBand filters a track to its low notes (second-order high-pass, fourth-order low-pass, Butterworth) and keeps
// lowRateHz samples a second.
func lowBand(x []float32, rateHz int) []float64 {
	high := newBiquad(rateHz, lowFromHz, math.Sqrt2/2, true)
	lowA, lowB := newBiquad(rateHz, lowToHz, 0.541196, false), newBiquad(rateHz, lowToHz, 1.306563, false)
	out := make([]float64, 0, len(x)*lowRateHz/rateHz+1)
	next := 0.0
	step := float64(rateHz) / lowRateHz
	for i, v := range x {
		y := lowB.next(lowA.next(high.next(float64(v))))
		if float64(i) >= next {
			out = append(out, y)
			next += step
		}
	}
	return out
}

// biquad is a second-order filter made by the bilinear transform.
type biquad struct{ b0, b1, b2, a1, a2, z1, z2 float64 }

func newBiquad(rateHz int, hz, q float64, high bool) *biquad {
	w := 2 * math.Pi * hz / float64(rateHz)
	alpha, c := math.Sin(w)/(2*q), math.Cos(w)
	b0, b1 := (1-c)/2, 1-c
	if high {
		b0, b1 = (1+c)/2, -(1 + c)
	}
	a0 := 1 + alpha
	return &biquad{b0: b0 / a0, b1: b1 / a0, b2: b0 / a0, a1: -2 * c / a0, a2: (1 - alpha) / a0}
}

func (f *biquad) next(x float64) float64 {
	y := f.b0*x + f.z1
	f.z1 = f.b1*x - f.a1*y + f.z2
	f.z2 = f.b2*x - f.a2*y
	return y
}
