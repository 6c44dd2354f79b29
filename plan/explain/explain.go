// Package explain argues for a sheet, a pair or a track in prose and figures, for newcomers.
package explain

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"foldout/features"
	"foldout/features/align"
	"foldout/plan/fold"
	"foldout/plan/sheet"
)

// Explanation is the argument for a sheet, a pair or a track, in prose and figures.
type Explanation struct {
	Title    string
	Sections []Section
	Unknown  []string // tracks of the sheet that are not in the session
}

// Section is one part of an Explanation: paragraphs, then a table, then a spectrum, each of which may be empty.
type Section struct {
	Head       string
	Paragraphs []string
	Table      [][]string // the first row is the heading
	Spectrum   []SpectrumLine
}

// SpectrumLine is a long-term spectrum to be drawn: levels of the ten octave bands in dB re the strongest.
type SpectrumLine struct {
	Name   string
	Levels features.Bands
}

// explaining is a sheet laid over its session.
type explaining struct {
	*fold.Session
	sheet  *sheet.Sheet
	labels []int
	names  []string
	habit  map[int]sheet.Reason // of the live tracks that a habit of the engineer put where they are
}

// Explain gives the argument for a whole sheet (empty target), for one pair (its number or name) or for one track (its
// file name, with or without extension). The sheet must be of this session; tracks it does not know are left out.
func Explain(s *fold.Session, sheet *sheet.Sheet, target string) (*Explanation, error) {
	placed := s.Place(sheet.Manual())
	if len(placed.Missing) == len(s.Live) {
		return nil, fmt.Errorf("none of the sheet's tracks is in %s", s.Folder)
	}
	e := &explaining{Session: s, sheet: sheet, labels: placed.Labels}
	for _, p := range sheet.Pairs {
		e.names = append(e.names, p.Name)
	}
	var err error
	if e.habit, err = s.HabitReasons(e.labels, len(e.names)); err != nil {
		return nil, err
	}
	x, err := e.argue(target, placed)
	if err != nil {
		return nil, err
	}
	x.Unknown = placed.Unknown
	return x, nil
}

// argue finds out what the target is and argues for it.
func (e *explaining) argue(target string, placed *fold.Placed) (*Explanation, error) {
	if strings.TrimSpace(target) == "" {
		return e.whole()
	}
	if q, ok := e.pair(target); ok {
		return e.ofPair(q)
	}
	i, err := e.Find(target)
	if err != nil {
		return nil, fmt.Errorf("%q is neither a pair of the sheet (1 to %d, or its name) nor a track: %w", target, len(e.names), err)
	}
	p := slices.Index(e.Live, i)
	if p < 0 || placed.Labels[p] < 0 { // set aside, or in the folder but not on the sheet
		return nil, fmt.Errorf("%s is on no pair of the sheet", e.Tracks[i].Profile.File)
	}
	return e.ofTrack(p)
}

// pair reads a pair's number or name.
func (e *explaining) pair(target string) (int, bool) {
	for q, name := range e.names {
		if strings.EqualFold(name, strings.TrimSpace(target)) {
			return q, true
		}
	}
	n, ok := sheet.PairNumber(target)
	return n - 1, ok && n >= 1 && n <= len(e.names)
}

func (e *explaining) on(q int) []int {
	var out []int
	for p, l := range e.labels {
		if l == q {
			out = append(out, p)
		}
	}
	return out
}

// envelopeRows are the figures by which tracks and pairs are compared.
var envelopeRows = []struct {
	name  string
	value func(p *features.Profile) float64
	text  func(v float64) string
}{
	{"centroid", func(p *features.Profile) float64 { return p.CentroidHz.OrInf() }, sheet.Hertz},
	{"crest factor", func(p *features.Profile) float64 { return float64(p.CrestDB) }, inDB},
	{"onset rate", func(p *features.Profile) float64 { return p.OnsetRateHz }, func(v float64) string { return fmt.Sprintf("%.1f /s", v) }},
	{"attack", func(p *features.Profile) float64 { return p.AttackS.OrInf() }, inMilliseconds},
	{"decay", func(p *features.Profile) float64 { return p.DecayS.OrInf() }, inMilliseconds},
	{"tonality", func(p *features.Profile) float64 { return p.Tonality }, func(v float64) string { return fmt.Sprintf("%.2f", v) }},
	{"active", func(p *features.Profile) float64 { return p.ActiveShare }, func(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }},
	{"loudness", func(p *features.Profile) float64 { return float64(p.IntegratedLUFS) }, func(v float64) string { return fmt.Sprintf("%.1f LUFS", v) }},
}

func inDB(v float64) string { return fmt.Sprintf("%.1f dB", v) }

func inMilliseconds(v float64) string { return fmt.Sprintf("%.0f ms", 1000*v) }

// medianOf is the middle value of a figure over tracks, -Inf for none.
func (e *explaining) medianOf(tracks []int, value func(p *features.Profile) float64) float64 {
	var v []float64
	for _, p := range tracks {
		if x := value(&e.Tracks[e.Live[p]].Profile); !math.IsInf(x, 0) && !math.IsNaN(x) {
			v = append(v, x)
		}
	}
	if len(v) == 0 {
		return math.Inf(-1)
	}
	return align.Median(v)
}

// medianText is the middle value as people read it, "-" for none.
func (e *explaining) medianText(tracks []int, value func(p *features.Profile) float64, text func(v float64) string) string {
	v := e.medianOf(tracks, value)
	if math.IsInf(v, 0) {
		return "-"
	}
	return text(v)
}

// spectrumOf sums the tracks' spectra while they sound, re the strongest band.
func (e *explaining) spectrumOf(name string, tracks []int) SpectrumLine {
	line := SpectrumLine{Name: name}
	var sum [10]float64
	var top float64
	for _, p := range tracks {
		for b, w := range fold.BandPowers(&e.Tracks[e.Live[p]].Profile) {
			sum[b] += w
			top = max(top, sum[b])
		}
	}
	for b := range sum {
		line.Levels[b] = features.DB(fold.Decibels(sum[b]) - fold.Decibels(top))
		if top <= 0 {
			line.Levels[b] = features.DB(math.Inf(-1))
		}
	}
	return line
}

// busesOf counts the buses of a pair.
func (e *explaining) busesOf(q int) map[string]bool {
	out := map[string]bool{}
	for _, p := range e.on(q) {
		out[e.Bus(p)] = true
	}
	return out
}

// onePairMore says what growing by one pair would do.
func (e *explaining) onePairMore(track int) (Section, error) {
	sec := Section{Head: "With one more pair"}
	k := len(e.sheet.Pairs) + 1
	labels, _, err := e.GrowLabels(e.sheet, k)
	if err != nil {
		return sec, err
	}
	var moved []int
	from := -1
	for p, l := range labels {
		if e.labels[p] >= 0 && l != e.labels[p] && l == k-1 {
			moved, from = append(moved, p), e.labels[p]
		}
	}
	if from < 0 {
		sec.Paragraphs = append(sec.Paragraphs, "Nothing would change: no pair holds kinds of tracks that want to be apart.")
		return sec, nil
	}
	sec.Paragraphs = append(sec.Paragraphs, fmt.Sprintf("Pair %d (%s) would be split: %s would leave for the new pair, %s would stay. All other pairs remain as they are.",
		from+1, e.names[from], e.list(moved), e.list(without(e.on(from), moved))))
	if track >= 0 {
		name := sheet.TrackName(e.Tracks[e.Live[track]].Profile.File)
		switch {
		case slices.Contains(moved, track):
			sec.Paragraphs = append(sec.Paragraphs, name+" would be among those that leave.")
		case e.labels[track] == from:
			sec.Paragraphs = append(sec.Paragraphs, name+" would stay, in less mixed company.")
		default:
			sec.Paragraphs = append(sec.Paragraphs, "For "+name+" nothing would change.")
		}
	}
	return sec, nil
}

func without(all, some []int) []int {
	var out []int
	for _, p := range all {
		if !slices.Contains(some, p) {
			out = append(out, p)
		}
	}
	return out
}

// list counts tracks by bus: "bass (2), percussion (3)".
func (e *explaining) list(tracks []int) string {
	count := map[string]int{}
	var order []string
	for _, p := range tracks {
		b := strings.ToLower(e.Bus(p))
		if count[b] == 0 {
			order = append(order, b)
		}
		count[b]++
	}
	slices.SortStableFunc(order, func(a, b string) int { return cmp.Compare(count[b], count[a]) })
	for i, b := range order {
		order[i] = fmt.Sprintf("%s (%d)", b, count[b])
	}
	return strings.Join(order, ", ")
}
