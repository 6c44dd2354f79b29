package company

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"

	"foldout/features"
	"foldout/features/kinship"
	"foldout/plan/trade"
)

// Two mono files are left and right of one stereo sound where the waveforms say so, and also where they cannot: a part that
// was played twice, once for each side, and microphones far apart. Such sides are told by company: they sound together from the
// first note to the last, at one level and with one spectrum, they are taken for one kind of thing, and no third track is as
// near. Every track has at most one other side, so all tracks that it may belong to, and none, compete (conditional logit). The
// weights (SideMeasures) were fitted on labelled sessions; testdata/kinship says how and what they bring.

//go:embed sides.csv
var sidesTable string

var shippedSides = must(ParseSides(sidesTable))

// SideMeasures names what is measured of two mono tracks.
var SideMeasures = []string{
	"sides",       // log odds of being sides by the waveforms, 0 at 1 in 1000
	"double",      // probability of one part in two performances, by the waveforms
	"bleed",       // probability of two microphones that hear one another
	"kin",         // probability of another kinship: copy, sum, return
	"apart",       // log of the share of time in which one of them sounds alone
	"level",       // difference of rms while sounding, tens of dB, at most 12 dB
	"spectrum",    // largest difference in an octave in which either has a hundredth of its energy, tens of dB, at most 20 dB
	"microphones", // probability that both are overheads, or both room microphones
	"guitars",     // that both are electric, or both acoustic guitars
	"voices",      // that both are voices
	"centre",      // that both are the kick, the snare, or bass, which stand in the middle
	"drums",       // that both are another piece of a kit, or percussion
	"others",      // that both have one role among the rest
}

// Side is what is asked of a track whose other side is sought.
type Side struct {
	Track
	Mono     bool
	OctaveDB [10]float64 // re the total
	Belief   []float64   // one probability per role of package trade
}

// SideOf takes from an analysis what is asked, but for the belief.
func SideOf(a *features.Analysis) Side {
	s := Side{Track: Of(a), Mono: a.Profile.Channels == 1}
	for i, v := range a.Profile.OctaveDB {
		s.OctaveDB[i] = float64(v)
	}
	return s
}

// Said is what the waveforms of two tracks say, each 0..1; the zero value where nothing is stated.
type Said struct{ Sides, Double, Bleed, Kin float64 }

// Sides is a pair of tracks, by their positions, A < B, with the probability that they are left and right of one sound.
type Sides struct {
	A, B        int
	Probability float64
	Measured    []float64 // SideMeasures
}

// Text says in what the two are alike.
func (p *Sides) Text() string {
	together := "sound together throughout"
	if apart := math.Exp(p.Measured[4]); apart > leastApart*1.001 {
		together = fmt.Sprintf("sound together %.0f %%", 100*(1-apart))
	}
	return fmt.Sprintf("%s, %.1f dB and in no octave more than %.1f dB apart", together, 10*p.Measured[5], 10*p.Measured[6])
}

// SideModel holds the constant, against no other side at all, and a weight for each of SideMeasures.
type SideModel struct {
	Constant float64
	Weight   []float64
}

const (
	leastSides = 1e-3  // probability at which the measure of sides is 0
	leastApart = 0.01  // share of time
	mostApart  = 0.5   // from which two tracks are no sides of anything
	mostLevel  = 12.0  // dB
	mostOctave = 20.0  // dB
	octaveSeen = -20.0 // dB re the total from which an octave is compared
	leastLike  = 0.01  // probability of one kind of thing below which two tracks are not compared
)

// MeasureSides returns all pairs that are worth comparing, without probabilities. said tells what the waveforms say of two positions.
func MeasureSides(tracks []Side, said func(a, b int) Said) []Sides {
	plain := make([]Track, len(tracks))
	for i, t := range tracks {
		plain[i] = t.Track
	}
	if len(tracks) == 0 {
		return nil
	}
	line := timeline(plain)
	var out []Sides
	for b := range tracks {
		for a := range b {
			s, t := &tracks[a], &tracks[b]
			if !s.Mono || !t.Mono || !s.sounds() || !t.sounds() {
				continue
			}
			k, w, apart := alike(s.Belief, t.Belief), said(a, b), 1-overlap(line[a], line[b])
			if apart > mostApart || k.played() < leastLike && w.Sides < leastLike {
				continue
			}
			out = append(out, Sides{A: a, B: b, Measured: []float64{
				SidesOdds(w.Sides), w.Double, w.Bleed, w.Kin,
				math.Log(math.Max(leastApart, apart)),
				math.Min(mostLevel, math.Abs(s.LevelDB-t.LevelDB)) / 10,
				spectraApart(&s.OctaveDB, &t.OctaveDB) / 10,
				k.microphones, k.guitars, k.voices, k.centre, k.drums, k.others,
			}})
		}
	}
	return out
}

// SidesOdds is the first of SideMeasures.
func SidesOdds(p float64) float64 {
	return math.Log(math.Max(p, leastSides)/math.Max(1-p, leastSides)) - math.Log(leastSides/(1-leastSides))
}

// kinds is how likely two tracks are one kind of thing, by kinds.
type kinds struct{ microphones, guitars, voices, centre, drums, others float64 }

// played is how likely they are one kind of thing that is no voice: of a part that was sung many times any two may stand left and right.
func (k kinds) played() float64 { return k.microphones + k.guitars + k.centre + k.drums + k.others }

func alike(a, b []float64) (k kinds) {
	var voiceA, voiceB float64
	for r, role := range trade.Roles {
		p := a[r] * b[r]
		switch bus := trade.BusFor(role); {
		case role == "overhead" || role == "room":
			k.microphones += p
		case role == "electric guitar" || role == "acoustic guitar":
			k.guitars += p
		case role == "lead vocal" || role == "backing vocal":
			voiceA, voiceB = voiceA+a[r], voiceB+b[r]
		case role == "kick" || role == "snare" || role == "bass":
			k.centre += p
		case bus == "Drums" || bus == "Percussion":
			k.drums += p
		default:
			k.others += p
		}
	}
	k.voices = voiceA * voiceB
	return k
}

// spectraApart is the largest difference in an octave that counts, dB.
func spectraApart(a, b *[10]float64) (most float64) {
	for i := range a {
		if math.Max(a[i], b[i]) > octaveSeen {
			most = math.Max(most, math.Min(mostOctave, math.Abs(a[i]-b[i])))
		}
	}
	return most
}

// FindSides returns the pairs that are more likely than not the two sides of one sound.
func FindSides(tracks []Side, said func(a, b int) Said) []Sides {
	var out []Sides
	for _, p := range shippedSides.Weigh(len(tracks), MeasureSides(tracks, said)) {
		if p.Probability > 0.5 {
			out = append(out, p)
		}
	}
	return out
}

// Score is the log odds of a pair against no other side, were there no third track.
func (m *SideModel) Score(measured []float64) float64 {
	s := m.Constant
	for j, v := range measured {
		s += m.Weight[j] * v
	}
	return s
}

// Weigh gives each pair of n tracks its probability: the lesser of what either track gives it among all its pairs and none. A
// track can have more than one pair above a half only with one partner, so those above a half part the tracks in twos.
func (m *SideModel) Weigh(n int, pairs []Sides) []Sides {
	all := make([]float64, n) // of each track: the odds of all its pairs against none
	odds := make([]float64, len(pairs))
	for k, p := range pairs {
		odds[k] = math.Exp(math.Min(50, m.Score(p.Measured)))
		all[p.A] += odds[k]
		all[p.B] += odds[k]
	}
	for k := range pairs {
		p := &pairs[k]
		p.Probability = odds[k] / (1 + math.Max(all[p.A], all[p.B]))
	}
	return pairs
}

// ParseSides reads a table of weights: rows of a name and a number, "constant", then each of SideMeasures.
func ParseSides(text string) (*SideModel, error) {
	v, err := numbersOf(text, append([]string{"constant"}, SideMeasures...))
	if err != nil {
		return nil, fmt.Errorf("table of sides: %w", err)
	}
	return &SideModel{v[0], v[1:]}, nil
}

// Table is the model as ParseSides reads it.
func (m *SideModel) Table() string {
	var b strings.Builder
	fmt.Fprintf(&b, "constant,%.3f\n", m.Constant)
	for j, name := range SideMeasures {
		fmt.Fprintf(&b, "%s,%.3f\n", name, m.Weight[j])
	}
	return b.String()
}

// numbersOf reads rows of a name and a number, which stand in the order of the names.
func numbersOf(text string, names []string) ([]float64, error) {
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return nil, err
	}
	if len(rows) != len(names) {
		return nil, fmt.Errorf("%d rows; want %q", len(rows), names)
	}
	var v []float64
	for n, row := range rows {
		x, err := strconv.ParseFloat(row[1], 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) || row[0] != names[n] {
			return nil, fmt.Errorf("row %d: %q; want %q and a number", n+1, row, names[n])
		}
		v = append(v, x)
	}
	return v, nil
}

// SaidOf is what a finding says of the sides of one sound.
func SaidOf(r kinship.Relation) Said {
	s := Said{Sides: r.Sides}
	switch {
	case r.Kind == kinship.Double:
		s.Double = r.Confidence
	case r.Kind == kinship.Bleed:
		s.Bleed = r.Confidence
	case r.Kind.Tie() && r.Kind != kinship.Sides:
		s.Kin = r.Confidence
	}
	return s
}
