// Package aside finds in a folder what is not a track of the song: the full mix, an old print, stems of the same session, a
// click, talkback, a reference song, test tones, room tone, a file that is there twice.
//
// In go the measured tracks, what their names say and what is believed of their roles; out comes a finding for each suspect:
// its kind, how certain that is, and why, in measured numbers. A finding of at least Certain is set aside; a weaker one is a
// question. Evidence is counted in log-odds: what the name says plus what the sound says. A mix, a print or a stem is proved
// by the tracks it is made of (package features/mixture); the others by the way they sound.
package aside

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"foldout/features"
	"foldout/features/kinship"
	"foldout/features/mixture"
	"foldout/plan/roles"
)

// Kind says what a file is, if no track.
type Kind string

// The kinds. Silent and Excluded are set by others.
const (
	Silent    Kind = "silent"
	Mix       Kind = "mix"
	Print     Kind = "print"
	Stem      Kind = "stem"
	Click     Kind = "click"    // count-in included
	Talkback  Kind = "talkback" // slates included
	Reference Kind = "reference"
	Tone      Kind = "tone"
	Noise     Kind = "noise" // room tone included
	Duplicate Kind = "duplicate"
	Excluded  Kind = "excluded"
)

// Bounds of certainty.
const (
	Certain = 0.8 // from here on a file is set aside
	Asked   = 0.4 // from here on it is asked about
)

// Finding is one suspect.
type Finding struct {
	Track     int
	Kind      Kind
	Certainty float64 // 0..1
	Reason    string  // what speaks for it, with numbers
}

// Set reports whether the file is set aside; else it is asked about.
func (f *Finding) Set() bool { return f.Certainty >= Certain }

// Input is what is known of the tracks.
type Input struct {
	Tracks  []*features.Analysis
	Hints   []roles.Hint         // what the names say; empty hints where names do not count
	Names   bool                 // names count
	Beliefs []map[string]float64 // probability per role, by name and sound
	Heard   []map[string]float64 // by sound alone
	Live    []int                // tracks that sound
	Derived map[int]bool         // tracks that are proved to be sums of others of these
}

// Find looks at all tracks. Findings come in the order of the tracks, at most one for each.
func Find(in Input) []Finding {
	survey := features.Survey(in.Tracks)
	s := &search{Input: in, look: survey, sums: map[int]mixture.Explained{}, held: map[int]float64{}}
	for _, i := range in.Live {
		if e, ok := survey.Sums[i]; ok {
			s.sums[i] = e
		}
	}
	var found []Finding
	for _, i := range in.Live {
		if f, ok := s.judge(i); ok {
			found = append(found, f)
		}
	}
	s.tellPrints(found)
	return s.temper(found)
}

// tellPrints tells mixes, prints and stems found by sound alone apart, where there are several: what holds nearly as many tracks as
// the fullest of them is a mix, the rest are stems; the mix that comes first is the mix, and the others are prints, for the way
// through a unit takes time. Where none is later than the other, the plainest is the mix, and the more coloured are prints.
func (s *search) tellPrints(found []Finding) {
	var sums []int
	fullest := 0.0
	for n, f := range found {
		if _, sum := s.sums[f.Track]; sum && (f.Kind == Mix || f.Kind == Print || f.Kind == Stem) {
			fullest = max(fullest, s.held[f.Track])
			if s.nameOf(f.Track) == "" {
				sums = append(sums, n)
			}
		}
	}
	if len(sums) < 2 {
		return
	}
	fewer := max(0.08, 1.5/float64(len(s.Live))) // one track more or less makes no stem
	var full []int
	for _, n := range sums {
		if s.held[found[n].Track] < fullest-fewer {
			found[n].Kind = Stem
		} else {
			full = append(full, n)
		}
	}
	if len(full) == 0 {
		return
	}
	late := map[int]float64{}
	for _, n := range full[1:] {
		late[n] = s.later(found[n].Track, found[full[0]].Track)
	}
	const apart = 0.2e-3 // s; less is a filter's delay
	slices.SortStableFunc(full, func(a, b int) int {
		if d := late[a] - late[b]; math.Abs(d) > apart {
			return cmp.Compare(d, 0)
		}
		return cmp.Compare(s.work(found[a].Track), s.work(found[b].Track))
	})
	for rank, n := range full {
		found[n].Kind = Print
		if rank == 0 {
			found[n].Kind = Mix
		}
	}
}

// later is by how many seconds track i comes after track j, if they are one performance; else 0.
func (s *search) later(i, j int) float64 {
	for _, r := range kinship.Relate([]kinship.Sketch{s.Tracks[i].Whole(), s.Tracks[j].Whole()}) {
		switch {
		case !r.Kind.Tie():
		case r.A == 0:
			return r.LagSeconds
		default:
			return -r.LagSeconds
		}
	}
	return 0
}

// work is how far a sum was processed after it was summed, in dB.
func (s *search) work(i int) float64 { return s.sums[i].ColourDB + s.sums[i].MovedDB }

// nameOf is the kind that a name says, "" where names do not count.
func (s *search) nameOf(i int) Kind {
	if !s.Names {
		return ""
	}
	return nameKind(s.Tracks[i].Profile.File, s.Hints[i])
}

// search holds what is computed once for all tracks.
type search struct {
	Input
	look *mixture.Survey
	sums map[int]mixture.Explained
	held map[int]float64 // of the session's tracks, the share that a sum holds
}

// judge weighs all kinds for one track and returns the likeliest.
func (s *search) judge(i int) (Finding, bool) {
	named := s.nameOf(i)
	best := Finding{Track: i}
	for _, test := range []func(int, Kind) Finding{s.duplicate, s.sum, s.reference, s.click, s.talkback, s.tone, s.noise} {
		if f := test(i, named); f.Certainty > best.Certainty {
			best = f
			best.Track = i
		}
	}
	if named == "" && s.oneInstrument(i) && slices.Contains([]Kind{Mix, Print, Stem, Reference, Click}, best.Kind) {
		best.Certainty = min(best.Certainty, Certain-0.05)
	}
	return best, best.Certainty >= Asked
}

// plainRole is the probability of one role from which a track is that instrument, and no whole piece of music. Ears that heard the mixes,
// prints, stems, references and clicks laid into twelve sessions gave none of them more than 0.76; a compressed kit, snares full
// of bleed, a clave and a hat of one sample, all taken for one of these before, have 0.78 to 0.90 (testdata/intruders).
const plainRole = 0.75

// oneInstrument tells whether the ears are sure of one role.
func (s *search) oneInstrument(i int) bool {
	for _, p := range s.Heard[i] {
		if p >= plainRole {
			return true
		}
	}
	return false
}

// temper asks instead of acting where half of a folder or more would go by sound alone: then the folder is not what is
// supposed here. It may hold one song as a single file, an album of mixes, a library of noises.
func (s *search) temper(found []Finding) []Finding {
	set := 0
	for _, f := range found {
		if f.Set() && f.Kind != Duplicate {
			set++
		}
	}
	if set*2 < len(s.Live) {
		return found
	}
	for n := range found {
		if found[n].Kind != Duplicate {
			found[n].Certainty = min(found[n].Certainty, Certain-0.05)
		}
	}
	return found
}

// odds turns log-odds into a probability.
func odds(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// duplicate finds a file whose numbers all equal those of an earlier one.
func (s *search) duplicate(i int, _ Kind) Finding {
	p := &s.Tracks[i].Profile
	for _, j := range s.Live {
		q := &s.Tracks[j].Profile
		if j == i || !equal(p, q) {
			continue
		}
		if keep := s.keep(i, j); keep == j {
			return Finding{Kind: Duplicate, Certainty: 0.99, Reason: fmt.Sprintf("the same sound as %s, sample for sample", trackName(q.File))}
		}
	}
	return Finding{}
}

// keep chooses which of two equal files stays: the one whose name says more of its role, else the shorter name, else the first.
func (s *search) keep(i, j int) int {
	if a, b := s.Hints[i].Known(), s.Hints[j].Known(); math.Abs(a-b) > 0.05 {
		if a > b {
			return i
		}
		return j
	}
	if a, b := len(s.Tracks[i].Profile.File), len(s.Tracks[j].Profile.File); a != b {
		if a < b {
			return i
		}
		return j
	}
	return min(i, j)
}

// equal tells whether two profiles are of one sound: whole numbers and sums over millions of samples agree to the last digit.
func equal(p, q *features.Profile) bool {
	return p.Frames == q.Frames && p.SampleRateHz == q.SampleRateHz && p.Channels == q.Channels && p.TimeReference == q.TimeReference &&
		p.SamplePeakDBFS == q.SamplePeakDBFS && p.RMSDBFS == q.RMSDBFS && p.IntegratedLUFS == q.IntegratedLUFS &&
		p.CentroidHz == q.CentroidHz && p.TruePeakDBTP == q.TruePeakDBTP && p.Correlation == q.Correlation && p.BalanceDB == q.BalanceDB
}

// roleShare is the probability that a track has one of some roles.
func (s *search) roleShare(i int, some ...string) (p float64) {
	for _, r := range some {
		p += s.Beliefs[i][r]
	}
	return p
}

// isKit lists the roles of a drum kit and its company.
func isKit(role string) bool {
	return slices.Contains([]string{"kick", "snare", "tom", "drums", "room", "hat", "cymbal", "overhead", "percussion"}, role)
}

// Question asks a person whether a track is what it seems to be.
func (f *Finding) Question() string {
	what := map[Kind]string{
		Mix: "the mix of these tracks", Print: "a print of them", Stem: "a stem, a sum of some of them", Click: "a click track", Talkback: "talkback or a slate",
		Reference: "a reference song", Tone: "a test tone", Noise: "room tone or noise", Duplicate: "a duplicate",
	}[f.Kind]
	return fmt.Sprintf("is it %s? %s", what, f.Reason)
}
