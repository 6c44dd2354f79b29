package features

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"foldout/features/kinship"
)

// Late says that a file begins late, although it carries no time stamp: what sounds in it sounds in a witness too, that much later.
type Late struct {
	Track, Witness int   // positions in the list
	Start          int64 // samples of the file's own rate after the session's zero, see Starts
	StartS         float64
	Height         float64 // of the correlation that proves it, 0..1: 1 for the same sound; 0 where only the levels rise together
	EndsAlike      bool    // with this start it ends with the others, to the sample; the start is exact then
}

// The bounds were set from what chance gives; courseGain and the two of nearS were changed after a first trial on one rendered session.
// testdata/late holds the trial on others.
const (
	leastLateS   = 0.25 // less is a delay, not a file that begins late
	endSlackS    = 0.05 // a file that ends later than this after all others does not begin there
	alikeEndS    = 0.05 // how near the end must come to that of the others to be meant
	endsTogether = 3    // files of one length to the sample that make it the length of the session

	mostHeld    = 12  // waveforms, of 4 MB for four minutes
	witnesses   = 5   // looked at closely for each track, and two that may say that it lies right
	courseGain  = 1.1 // how much more alike the rises of level must be at the lag than without
	leastHeight = 0.02
	overChance  = 12  // of the height over the root mean square of all lags; of a million lags chance gives 5
	overRival   = 1.8 // of the height over the next; what repeats has rivals of nearly its own height
	nearS       = 0.1 // two witnesses agree within this

	coursePeak   = 9   // as overChance, for the rises of level
	courseUnique = 1.3 // as overRival

	mostAligned = 1 << 21 // samples at 4 kHz that are aligned: 8 min 44 s
)

// FindLate finds the files that begin late and carry no time stamp, from what they share with others: a copy, a sum, a
// microphone that hears the same. Only files that are shorter than the longest are looked at, and none of those that told
// says something about. A file stays where it is unless a place later in the session explains it far better than its own
// and than any other; what repeats itself has many such places, and stays. What was found is kept with the
// relations, see Relate; files are read once more where it is not. Files that cannot be read again are no witnesses.
func FindLate(ctx context.Context, tracks []*Analysis, told func(path string) bool) []Late {
	s := newLateSearch(tracks, told)
	if !slices.ContainsFunc(s.tracks, func(t *lateTrack) bool { return t.open }) {
		return nil
	}
	set := together(tracks)
	set.key += s.key()
	var found []Late
	if set.usable && set.read(lateSuffix, &found) {
		return found
	}
	found = s.search(ctx)
	if set.usable && ctx.Err() == nil {
		set.cache.report(set.write(lateSuffix, found))
	}
	return found
}

// sameSound is the height of a correlation above which two tracks are one sound, not two microphones. Chosen.
const sameSound = 0.7

// Sentence says where the file was found to begin, and what proves it; tracks is the list it was found in.
func (l Late) Sentence(tracks []*Analysis) string {
	track, witness := tracks[l.Track].Profile.File, tracks[l.Witness].Profile.File
	proof := fmt.Sprintf("what sounds in it sounds that much later in %s", witness)
	if l.Height == 0 {
		proof = fmt.Sprintf("its levels rise with those of %s there and nowhere else", witness)
	}
	exact := "; between two microphones, or with an effect, this may be off by some milliseconds"
	switch {
	case l.EndsAlike:
		exact = ", and with that start it ends with the others, to the sample"
	case l.Height > sameSound:
		exact = ""
	}
	return fmt.Sprintf("%s carries no time stamp and is taken to begin at %.3f s (%d samples): %s%s. If that is wrong, say with --offsets where it begins",
		track, l.StartS, l.Start, proof, exact)
}

// lateTrack is what the search knows of a track. Times are in seconds after the session's zero.
type lateTrack struct {
	*Analysis
	open   bool    // it may begin later than it says
	start  float64 // where it begins, as far as is known
	length float64
	shared bool // it ends where others do, to the sample
	wave   []float32
}

func (t *lateTrack) end() float64 { return t.start + t.length }

type lateSearch struct {
	tracks  []*lateTrack
	end     float64 // of the session
	courses *kinship.Courses
}

func newLateSearch(tracks []*Analysis, told func(path string) bool) *lateSearch {
	s := &lateSearch{}
	zero := math.Inf(1)
	for _, t := range tracks {
		if t.Profile.TimeReference > 0 && !told(t.Path) {
			zero = min(zero, t.Sketch.StartSeconds)
		}
	}
	if math.IsInf(zero, 1) {
		zero = 0
	}
	same := map[[2]int64]int{}
	length := func(t *Analysis) [2]int64 { return [2]int64{t.Profile.Frames, int64(t.Profile.SampleRateHz)} }
	for _, t := range tracks {
		l := &lateTrack{Analysis: t, length: t.Profile.DurationS, start: max(t.Sketch.StartSeconds-zero, 0)}
		s.tracks = append(s.tracks, l)
		if l.start == 0 {
			same[length(t)]++
		}
		s.end = max(s.end, l.end())
	}
	for _, l := range s.tracks {
		l.shared = l.start == 0 && same[length(l.Analysis)] >= endsTogether && s.end-l.end() < alikeEndS
		l.open = !l.Profile.Silent && l.Profile.TimeReference == 0 && !told(l.Path) && l.end()+leastLateS < s.end
	}
	return s
}

// key tells searches of the same files apart: which may move.
func (s *lateSearch) key() string {
	out := []byte("late ")
	for _, t := range s.tracks {
		if t.open {
			out = append(out, '1')
		} else {
			out = append(out, '0')
		}
	}
	return string(out)
}

// search places one track after the other: first by witnesses that cannot be late themselves, then by those that are placed.
func (s *lateSearch) search(ctx context.Context) []Late {
	list := make([]kinship.Sketch, len(s.tracks))
	for i, t := range s.tracks {
		list[i] = t.Sketch // the envelope is there, also without the waveform
	}
	s.courses = kinship.NewCourses(list)
	var found []Late
	for sure := true; ; {
		more := false
		for i, t := range s.tracks {
			if !t.open || ctx.Err() != nil {
				continue
			}
			l, seen := s.place(ctx, i, sure)
			if !seen {
				continue
			}
			t.open, t.wave, more = false, nil, true
			if l.Start > 0 {
				t.start = l.StartS
				found = append(found, l)
			}
		}
		switch {
		case more:
		case sure:
			sure = false // then what may be late itself is a witness, too, where it lies now
		default:
			slices.SortFunc(found, func(a, b Late) int { return cmp.Compare(a.Track, b.Track) })
			return found
		}
	}
}
