package workbench

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"foldout/features"
	"foldout/plan/fold"
	"foldout/plan/levels"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

const (
	restFor = 600 * time.Millisecond // of quiet before the pairs are summed and measured
	lookAt  = 2 * time.Second        // between two looks at the folder
)

// begin starts what runs in the background as long as the session is open.
func (s *session) begin() {
	go s.workOn()
	go s.lookOn()
	s.stir <- struct{}{}
}

// workOn finds, after every act, how firm each place is, and then what every pair sends; a further act interrupts.
func (s *session) workOn() {
	for {
		select {
		case <-s.stir:
		case <-s.life.Done():
			return
		}
		ctx, cancel := context.WithCancel(s.life)
		done := make(chan struct{})
		go func() {
			defer close(done)
			s.judge()
			select {
			case <-time.After(restFor):
				s.measureLoads(ctx)
			case <-ctx.Done():
			}
		}()
		select {
		case <-done:
		case <-s.stir:
			cancel()
			<-done
			s.stir <- struct{}{}
		case <-s.life.Done():
			cancel()
			<-done
			return
		}
		cancel()
	}
}

// judge finds how firm every place of the present grouping is.
func (s *session) judge() {
	s.mu.Lock()
	c := s.choice()
	key := signature(c)
	if s.firm[key] != nil {
		s.mu.Unlock()
		return
	}
	p, err := s.prepare(c, fold.Options{Pairs: len(c.Pairs)})
	if err != nil { // then the act itself has failed and said so
		s.mu.Unlock()
		return
	}
	g, err := s.grouping(p, c)
	s.mu.Unlock()
	if err != nil {
		return
	}
	p.Judge(g)
	firm := map[string]float64{}
	for pos, i := range p.Live {
		firm[p.Tracks[i].Profile.File] = g.Confidence[pos]
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.settle(key, firm)
}

// settle notes how firm the places of a grouping are and, where it is still the present one, shows it.
func (s *session) settle(key string, firm map[string]float64) {
	s.firm[key] = firm
	if signature(s.choice()) == key {
		s.renew()
	}
}

// renew writes the present sheet, and what the last step changed, with what has become known meanwhile.
func (s *session) renew() {
	doc, err := s.write(s.choice())
	if err != nil { // it was written before: then something is wrong with the files, and the next act will say so
		return
	}
	s.doc = doc
	if s.change != nil {
		if before, err := s.write(s.change.was); err == nil {
			s.change = changeOf(s, before, doc, s.change.was, s.choice())
		}
	}
	s.touch()
}

// measureLoads sums and measures every pair. Trouble is shown on the page in the place of the figures.
func (s *session) measureLoads(ctx context.Context) {
	s.mu.Lock()
	c, doc := s.choice(), s.doc
	key := loadKey(c)
	if s.loadsAt == key || s.sound == nil {
		s.mu.Unlock()
		return
	}
	s.mu.Unlock()
	l, err := levels.Measure(ctx, doc, c.Rig, levels.Options{Progress: func(int64, int64) { s.floor.wait(ctx) }})
	if errors.Is(err, context.Canceled) {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.loads, s.loadsAt, s.loadsTrouble = l, key, ""
	if err != nil {
		s.loads, s.loadsTrouble = nil, err.Error()
		s.touch()
		return
	}
	for _, p := range l.Pairs {
		if p.Number <= len(c.Pairs) {
			tracks := c.Pairs[p.Number-1].Tracks
			s.loudness[company(c.Rig, tracks)] = p.IntegratedLUFS
			s.room[rigKey(c.Rig)+company(c.Rig, tracks)] = min(p.HeadroomConverterDB, p.HeadroomUnitDB)
		}
	}
	s.loudness[everybody(c)] = l.Total.IntegratedLUFS
	s.renew()
}

// company tells sums of tracks apart: by the tracks, and by the pan law that the rig has.
func company(r *rig.Rig, tracks []string) string {
	return fmt.Sprint(panGain(r), "\x00") + strings.Join(slices.Sorted(slices.Values(tracks)), "\x00")
}

// roomOf is the headroom of a pair of these tracks, where that has been measured.
func (s *session) roomOf(r *rig.Rig, tracks []string) features.DB {
	if room, ok := s.room[rigKey(r)+company(r, tracks)]; ok {
		return room
	}
	return sheet.NotMeasured
}

// everybody is the company of all tracks on pairs.
func everybody(c *Choice) string {
	var all []string
	for _, p := range c.Pairs {
		all = append(all, p.Tracks...)
	}
	return company(c.Rig, all)
}

// soundOut gives the figures of a sheet the loudness of its pairs, as far as their sums have been measured.
func (s *session) soundOut(f *sheet.Figures, c *Choice) {
	pairs := make([]features.DB, len(c.Pairs))
	whole := true
	for n, p := range c.Pairs {
		known, ok := s.loudness[company(c.Rig, p.Tracks)]
		if !ok || len(p.Tracks) == 0 {
			known = sheet.NotMeasured
			whole = whole && len(p.Tracks) == 0
		}
		pairs[n] = known
	}
	if all, ok := s.loudness[everybody(c)]; ok && whole {
		f.SetLoudness(pairs, all)
		return
	}
	for n := range pairs {
		f.Pairs[n].LoudnessLUFS = pairs[n]
	}
}

// loadKey tells apart what the loads depend on.
func loadKey(c *Choice) string { return signature(c) + rigKey(c.Rig) }

// rigKey tells rigs apart, "" for none.
func rigKey(r *rig.Rig) string {
	if r == nil {
		return ""
	}
	data, err := json.Marshal(r)
	if err != nil { // numbers and words: a programmer's error
		panic("workbench: rig: " + err.Error())
	}
	return string(data)
}
