package features

import (
	"cmp"
	"context"
	"math"
	"slices"

	"foldout/features/kinship"
)

// suspect is a track that may tell where another lies: how alike their rises of level are there and as it is now.
type suspect struct {
	witness    int
	there, now float64
}

// place looks for the start of track i; seen is false where nothing tells it.
func (s *lateSearch) place(ctx context.Context, i int, sure bool) (l Late, seen bool) {
	t := s.tracks[i]
	latest := s.end - t.length + endSlackS
	var list, all []suspect
	for j, w := range s.tracks {
		if j == i || w.Profile.Silent || sure && w.open {
			continue
		}
		v := suspect{witness: j}
		alike := s.courses.Alike(i, j)
		for n, r := range alike {
			at := float64(n)*kinship.CourseHop + w.start
			switch {
			case at > latest+kinship.CourseHop:
			case at < leastLateS/2:
				v.now = max(v.now, r)
			case at >= leastLateS:
				v.there = max(v.there, r)
			}
		}
		if v.there > courseGain*v.now {
			list = append(list, v)
		}
		all = append(all, v)
	}
	if len(list) == 0 {
		return l, false
	}
	slices.SortStableFunc(list, func(a, b suspect) int { return cmp.Compare(b.there, a.there) })
	slices.SortStableFunc(all, func(a, b suspect) int { return cmp.Compare(b.now, a.now) })
	list = list[:min(witnesses, len(list))]
	for _, v := range all[:min(2, len(all))] {
		if !slices.Contains(list, v) {
			list = append(list, v)
		}
	}
	l, seen, contradiction := s.bySound(ctx, i, latest, list)
	s.forget()
	if !seen && !contradiction {
		l, seen = s.byLevels(i, sure)
	}
	return l, seen
}

// forget drops waveforms where many are held.
func (s *lateSearch) forget() {
	held := 0
	for _, t := range s.tracks {
		if t.wave != nil {
			held++
		}
	}
	for _, t := range s.tracks {
		if held > mostHeld {
			t.wave = nil
		}
	}
}

// bySound looks for the sound of track i in that of others. Where sounds contradict one another nothing else may decide.
func (s *lateSearch) bySound(ctx context.Context, i int, latest float64, list []suspect) (l Late, seen, contradiction bool) {
	t := s.tracks[i]
	x := t.waveform(ctx)
	found := make([]kinship.Alignment, len(list))
	longest := 0
	for _, v := range list {
		longest = max(longest, len(s.tracks[v.witness].waveform(ctx)))
	}
	const rate = kinship.AlignRateHz
	aligner := kinship.NewAligner(x, longest, rate)
	for n, v := range list {
		w := s.tracks[v.witness]
		found[n] = aligner.Look(w.wave, int(-w.start*rate), int((latest-w.start)*rate))
	}
	best := -1
	for n, a := range found {
		if a.Height >= leastHeight && a.Height >= overChance*a.Chance && a.Height >= overRival*a.Rival && (best < 0 || a.Height > found[best].Height) {
			best = n
		}
	}
	if best < 0 {
		return l, false, false
	}
	at := func(n int) float64 { return found[n].Lag/rate + s.tracks[list[n].witness].start }
	for n, a := range found {
		if a.Height >= overChance*a.Chance && a.Height >= 0.5*found[best].Height && math.Abs(at(n)-at(best)) > nearS {
			return l, false, true // two witnesses say different things
		}
	}
	w := s.tracks[list[best].witness]
	l = Late{Track: i, Witness: list[best].witness, StartS: at(best), Height: found[best].Height}
	if l.StartS < leastLateS {
		return Late{}, true, false // it lies right
	}
	if w.open && !s.settled(l.Witness) {
		return Late{}, false, true // the witness may be late itself
	}
	if lag, ok := t.refine(w, l.StartS-w.start); ok {
		l.StartS = lag + w.start
	}
	l.EndsAlike = s.meetEnd(t, &l.StartS)
	if !l.EndsAlike && !t.soundsBefore(l.StartS) {
		return Late{}, false, true // an echo, or a part that was copied to a later place: its file is empty until then
	}
	l.Start = int64(math.Round(l.StartS * float64(t.Profile.SampleRateHz)))
	return l, true, false
}

// settled tells whether the levels of a track rise with those of all others where it lies more than anywhere later.
func (s *lateSearch) settled(i int) bool {
	var sum []float64
	for j, w := range s.tracks {
		if j == i || w.Profile.Silent {
			continue
		}
		alike := s.courses.Alike(i, j)
		if sum == nil {
			sum = make([]float64, len(alike))
		}
		for n, r := range alike {
			sum[n] += r
		}
	}
	var now, later float64
	for n, v := range sum {
		if at := float64(n) * kinship.CourseHop; at < leastLateS/2 {
			now = max(now, v)
		} else if at >= leastLateS {
			later = max(later, v)
		}
	}
	return now > courseGain*later
}

// meetEnd moves a start to where the file ends with the session, to the sample, if that is near and the session has an end.
func (s *lateSearch) meetEnd(t *lateTrack, start *float64) bool {
	for _, o := range s.tracks {
		if o.shared && o.Profile.SampleRateHz == t.Profile.SampleRateHz && math.Abs(*start+t.length-o.length) < alikeEndS {
			*start = float64(o.Profile.Frames-t.Profile.Frames) / float64(t.Profile.SampleRateHz)
			return true
		}
	}
	return false
}

// byLevels places a track by when its levels rise, where the place that fits best by far is the one at which it
// ends with all others. So the second performance of a part is found, whose sound is another one.
func (s *lateSearch) byLevels(i int, sure bool) (l Late, seen bool) {
	t := s.tracks[i]
	var sum []float64
	top := -1.0
	for j, w := range s.tracks {
		if j == i || w.Profile.Silent || sure && w.open {
			continue
		}
		shift := int(math.Round(w.start / kinship.CourseHop))
		for n, r := range s.courses.Alike(i, j) {
			if n+shift >= len(sum) {
				sum = append(sum, make([]float64, n+shift+1-len(sum))...)
			}
			sum[n+shift] += r
			if r > top && float64(n+shift)*kinship.CourseHop >= leastLateS {
				top, l.Witness = r, j
			}
		}
	}
	best := 0
	var square float64
	for n, v := range sum {
		square += v * v
		if v > sum[best] {
			best = n
		}
	}
	rival := 0.0
	for n, v := range sum {
		if n < best-3 || n > best+3 {
			rival = max(rival, v)
		}
	}
	if len(sum) == 0 || sum[best] < coursePeak*math.Sqrt(square/float64(len(sum))) || sum[best] < courseUnique*rival {
		return l, false
	}
	l.Track, l.StartS = i, float64(best)*kinship.CourseHop
	if l.StartS < leastLateS || !s.meetEnd(t, &l.StartS) {
		return l, false
	}
	l.EndsAlike = true
	l.Start = int64(math.Round(l.StartS * float64(t.Profile.SampleRateHz)))
	return l, true
}
