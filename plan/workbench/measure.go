package workbench

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"time"

	"foldout/features"
	"foldout/plan/fold"
	"foldout/plan/report"
	"foldout/plan/sheet"
)

// stamp tells whether a file has changed.
type stamp struct {
	size int64
	time time.Time
}

// measured is what a pass over a folder found.
type measured struct {
	tracks []*features.Analysis
	stamps map[string]stamp
	faults []string
}

// measure reads all audio files below a folder, the largest first, several at a time, and tells of each when it is done.
// Files begin together, or as their time references say, but for those of which late says where they begin.
func (b *Bench) measure(ctx context.Context, folder string, late []sheet.Offset, progress func(done, total int64), arrived func(arrival)) (*measured, error) {
	paths, skipped, err := features.Find(folder)
	if err != nil {
		return nil, err
	}
	if len(paths) == 0 {
		what := "the folder is empty"
		if len(skipped) > 0 {
			what = fmt.Sprintf("no audio files here, only %s and the like", filepath.Base(skipped[0]))
		}
		return nil, fmt.Errorf("%s: %s; export the tracks of the mix there, one WAV file each", folder, what)
	}
	given := map[string]int64{}
	for _, o := range late {
		given[pathOf(folder, o)] = o.Start
	}
	starts := features.Starts(paths, given)
	out := &measured{stamps: map[string]stamp{}}
	sizes := make([]int64, len(paths))
	order := make([]int, len(paths))
	var total, done int64
	for i, p := range paths {
		order[i] = i
		if info, err := os.Stat(p); err == nil {
			sizes[i] = info.Size()
			out.stamps[p] = stamp{info.Size(), info.ModTime()}
		}
		total += sizes[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(sizes[b], sizes[a]) })
	results := make([]*features.Analysis, len(paths))
	faults := make([]string, len(paths))
	next := make(chan int)
	var mu sync.Mutex
	var workers sync.WaitGroup
	for range cmp.Or(b.opt.Workers, runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for i := range next {
				one, err := features.MeasureAll(ctx, paths[i:i+1], features.Options{Workers: 1, Cache: b.opt.Cache, WithSketch: true, Folder: folder, Starts: starts})
				if err == nil {
					err = one[0].Err
				}
				if errors.Is(err, context.Canceled) {
					continue
				}
				a := arrival{File: paths[i], Name: sheet.TrackName(paths[i])}
				if err != nil {
					faults[i], a.Fault = err.Error(), err.Error()
				} else {
					results[i] = one[0].Analysis
					a.File = results[i].Profile.File
					m := measuredOf(&results[i].Profile)
					a.Ridge, a.Shape = report.DrawTrack(&m)
				}
				mu.Lock()
				done += sizes[i]
				progress(done, total)
				arrived(a)
				mu.Unlock()
			}
		})
	}
	for _, i := range order {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	workers.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for i, r := range results {
		if r != nil {
			out.tracks = append(out.tracks, r)
		} else {
			out.faults = append(out.faults, faults[i])
		}
	}
	if len(out.tracks) == 0 {
		return nil, fmt.Errorf("%s: none of the %d audio files could be read: %s", folder, len(paths), out.faults[0])
	}
	out.faults = append(out.faults, features.PassedOver(folder, skipped)...)
	return out, nil
}

// measuredOf takes the figures of which a ribbon is drawn.
func measuredOf(p *features.Profile) sheet.Measured {
	return sheet.Measured{ActiveRMSDBFS: p.ActiveRMSDBFS, ActiveShare: p.ActiveShare, OctaveDB: p.OctaveDB}
}

// adopt makes what was measured the tracks of the session.
func (s *session) adopt(m *measured) {
	s.tracks, s.stamps, s.faults = m.tracks, m.stamps, m.faults
	s.live = map[string]bool{}
	for _, t := range s.tracks {
		if !t.Profile.Silent {
			s.live[t.Profile.File] = true
		}
	}
	s.prepared = nil
}

// tell finds out which files are no tracks: a mix, a click, talkback. All files are looked at together, once.
func (s *session) tell() error {
	p, err := fold.Prepare(s.folder, s.tracks, fold.Options{Pairs: 1, Kin: s.kin, Seed: s.b.opt.Seed})
	if err != nil {
		return err
	}
	s.found, s.asked = map[string]sheet.SetAside{}, p.Asked
	for _, a := range p.Aside {
		if s.live[a.File] {
			s.found[a.File] = a
		}
	}
	return nil
}

// out tells whether a file takes no part because of what it is.
func (s *session) out(c *Choice, file string) bool {
	_, found := s.found[file]
	return found && !c.Taken[file]
}

// admit lets a file take part.
func (s *session) admit(c *Choice, file string) {
	delete(c.Aside, file)
	if _, found := s.found[file]; found {
		c.Taken[file] = true
	}
}

// news is what a look at the folder has found: tracks exported anew, come, or gone.
type news struct {
	Time    time.Time    `json:"time"`
	Came    []string     `json:"came"`
	Went    []string     `json:"went"`
	Changed []difference `json:"changed"`
}

// difference is how a track that was exported anew differs from what it was.
type difference struct {
	File       string      `json:"file"`
	LUFSBefore features.DB `json:"lufs_before"`
	LUFS       features.DB `json:"lufs"`
	PeakBefore features.DB `json:"true_peak_before_dbtp"`
	Peak       features.DB `json:"true_peak_dbtp"`
	RoleBefore string      `json:"role_before"`
	Role       string      `json:"role"`
}

// lookOn looks at the folder now and then. A change is taken up once it has been the same for two looks, since an export
// takes its time.
func (s *session) lookOn() {
	tick := time.NewTicker(lookAt)
	defer tick.Stop()
	var seen map[string]stamp
	told := ""
	for {
		select {
		case <-tick.C:
		case <-s.life.Done():
			return
		}
		now := glance(s.folder)
		s.mu.Lock()
		s.lookFor()
		same := equalStamps(now, s.stamps)
		if err := s.rejoin(); err != nil && err.Error() != told {
			told = err.Error()
			s.b.events.Send("note", map[string]string{"text": told})
		}
		s.mu.Unlock()
		if now == nil || same {
			seen = nil
			continue
		}
		if seen == nil || !equalStamps(now, seen) {
			seen = now
			continue
		}
		seen = nil
		s.takeUp()
	}
}

// lookFor says so where the folder is gone, renamed or on a disk that was taken out, and lets it be heard again when it is back.
func (s *session) lookFor() {
	_, err := os.Stat(s.folder)
	away := err != nil
	if away == s.away {
		return
	}
	s.away = away
	s.openSound()
	s.touch()
}

// glance notes size and time of every audio file; nil where the folder cannot be read.
func glance(folder string) map[string]stamp {
	paths, _, err := features.Find(folder)
	if err != nil {
		return nil
	}
	out := map[string]stamp{}
	for _, p := range paths {
		if info, err := os.Stat(p); err == nil {
			out[p] = stamp{info.Size(), info.ModTime()}
		}
	}
	return out
}

func equalStamps(a, b map[string]stamp) bool {
	if len(a) != len(b) {
		return false
	}
	for k, v := range a {
		if w, ok := b[k]; !ok || w.size != v.size || !w.time.Equal(v.time) {
			return false
		}
	}
	return true
}

// takeUp measures the folder anew and keeps the grouping.
func (s *session) takeUp() {
	s.b.events.Send("note", map[string]string{"text": "Files have changed; measuring them anew."})
	measure := func(starts []sheet.Offset) (*measured, error) {
		return s.b.measure(s.life, s.folder, starts, func(int64, int64) {}, func(arrival) {})
	}
	starts, found, err := s.b.lineUp(s.life, s.folder, s.startsThatHold(), measure)
	if err != nil {
		s.b.events.Send("note", map[string]string{"text": err.Error()})
		return
	}
	kin := fold.FindKin(found.tracks)
	s.mu.Lock()
	defer s.mu.Unlock()
	before := map[string]*features.Profile{}
	roles := rolesOf(s.doc)
	for _, t := range s.tracks {
		before[t.Profile.File] = &t.Profile
	}
	n := &news{Time: time.Now(), Came: []string{}, Went: []string{}, Changed: []difference{}}
	old := s.stamps
	s.adopt(found)
	s.kin = kin
	if err := s.tell(); err != nil {
		s.b.events.Send("note", map[string]string{"text": err.Error()})
		return
	}
	s.firm, s.loudness, s.room, s.loadsAt, s.sweep = map[string]map[string]float64{}, map[string]features.DB{}, map[string]features.DB{}, "", nil
	c := s.choice().clone()
	for i := range s.history { // where files begin is no step that can be undone: they are other files now
		s.history[i].Choice.Starts = starts
	}
	c.Starts = starts
	if err := s.cover(c); err != nil {
		s.b.events.Send("note", map[string]string{"text": err.Error()})
		return
	}
	enter := func() { s.history[s.at].Choice = c }
	if !sameGrouping(c, s.choice()) {
		enter = func() { s.add("tracks came or went", c) }
	}
	if err := s.show(c, enter); err != nil {
		s.b.events.Send("note", map[string]string{"text": err.Error()})
		return
	}
	s.openSound()
	now := rolesOf(s.doc)
	for _, t := range s.tracks {
		p := &t.Profile
		was, ok := before[p.File]
		delete(before, p.File)
		if !ok {
			n.Came = append(n.Came, p.File)
			continue
		}
		if a, b := old[t.Path], s.stamps[t.Path]; a.size != b.size || !a.time.Equal(b.time) {
			n.Changed = append(n.Changed, difference{p.File, was.IntegratedLUFS, p.IntegratedLUFS, was.TruePeakDBTP, p.TruePeakDBTP, roles[p.File], now[p.File]})
		}
	}
	for f := range before {
		n.Went = append(n.Went, f)
	}
	slices.Sort(n.Went)
	s.news = n
	s.touch()
}

// rolesOf maps the tracks of a sheet to their roles.
func rolesOf(doc *sheet.Sheet) map[string]string {
	out := map[string]string{}
	for _, p := range doc.Pairs {
		for _, t := range p.Tracks {
			out[t.File] = t.Role
		}
	}
	return out
}
