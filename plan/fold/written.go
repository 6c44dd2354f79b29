package fold

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"gonum.org/v1/gonum/mat"

	"foldout/features"
	"foldout/features/kinship"
	"foldout/plan/roles"
	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// Suggest folds the session onto the number of pairs in its options and writes the sheet.
func (s *Session) Suggest() (*sheet.Sheet, error) {
	g, err := s.Fold(s.opt.Pairs)
	if err != nil {
		return nil, err
	}
	return s.Sheet(g)
}

// Sheet writes a grouping down: names, buses, reasons, figures.
func (s *Session) Sheet(g *Grouping) (*sheet.Sheet, error) {
	doc := &sheet.Sheet{Schema: sheet.SchemaVersion, Title: s.Title(), Folder: s.Folder, Warnings: []string{},
		SetAside: append([]sheet.SetAside{}, s.Aside...), Questions: append([]sheet.Question{}, s.Asked...)}
	doc.Settings = s.opt.settings()

	members := make([][]int, g.Pairs) // positions in Live
	for p, l := range g.Labels {
		members[l] = append(members[l], p)
	}
	buses := make([][]string, g.Pairs)
	for l := range members {
		slices.SortStableFunc(members[l], s.compareOnSheet)
		for _, p := range members[l] {
			if b := s.Bus(p); !slices.Contains(buses[l], b) {
				buses[l] = append(buses[l], b)
			}
		}
	}
	names := trade.NamePairs(buses)
	trade.KeepNames(names, g.Names)
	labels := trade.DistinctBuses(buses)
	centres := s.Centres(g.Labels, g.Pairs)
	habit, err := s.HabitReasons(g.Labels, g.Pairs)
	if err != nil {
		return nil, err
	}
	free := 0
	for l := range members {
		pair := sheet.Pair{Name: names[l], Outputs: s.outputs(l), Device: s.device(l), Buses: labels[l], Tracks: []sheet.Placement{}}
		if pair.Buses == nil {
			pair.Buses = []string{}
		}
		for _, p := range members[l] {
			i := s.Live[p]
			role, _ := s.own(i).Best()
			named, _ := s.Hints[i].Best()
			place := sheet.Placement{
				File: s.Tracks[i].Profile.File, Role: role, Named: named, Heard: heardOf(s.Heard, i), Measured: measuredOf(&s.Tracks[i].Profile), Confidence: sheet.Round(g.Confidence[p], 2),
				Bus: labels[l][slices.Index(buses[l], s.Bus(p))],
			}
			if next := g.RunnerUp[p]; next >= 0 {
				place.RunnerUp = names[next]
			}
			if s.pinned(p) {
				place.Reasons = append(place.Reasons, sheet.Reason{Fact: fmt.Sprintf("you pinned it to pair %d", l+1), Measure: "pin", Value: float64(l + 1)})
			}
			next := g.RunnerUp[p]
			if next < 0 { // nobody would move it; what sets it apart shows best against the nearest pair
				next = s.RunnerUp(p, l, centres)
			}
			if r, ok := habit[p]; ok {
				place.Reasons = append(place.Reasons, r)
			}
			reasons := s.reasons(g.Labels, p, next, names, centres)
			place.Reasons = append(place.Reasons, reasons[:min(len(reasons), max(1, mostReasons-len(place.Reasons)))]...)
			pair.Tracks = append(pair.Tracks, place)
		}
		pair.Reason = s.pairReason(members[l])
		if len(members[l]) == 0 {
			pair.Reason = g.whyFree(free)
			free++
		}
		doc.Pairs = append(doc.Pairs, pair)
	}
	if err := s.figures(doc, g); err != nil {
		return nil, err
	}
	roles.Halves(doc)
	doc.Relations = s.relations()
	s.warn(doc)
	return doc, nil
}

// relations writes down what was found between the tracks. A return binds to the one source that it follows.
func (s *Session) relations() []sheet.Relation {
	out := []sheet.Relation{}
	file := func(i int) string { return s.Tracks[i].Profile.File }
	said, followed := map[[2]int]bool{}, map[[2]int]bool{}
	for _, t := range s.Ties {
		if t.Relation.Kind == kinship.Return {
			followed[[2]int{t.A, t.B}] = true
		}
		if t.ByName {
			said[[2]int{min(t.A, t.B), max(t.A, t.B)}] = true
			out = append(out, sheet.Relation{A: file(t.A), B: file(t.B), Kind: kinship.Sides.String(), Binding: true, Certainty: sidesByName, Share: 1})
		}
	}
	for _, r := range s.Kin {
		if said[[2]int{min(r.A, r.B), max(r.A, r.B)}] {
			continue
		}
		p, binds := s.certainty(r), s.binds(r)
		if r.Kind == kinship.Return {
			binds = followed[[2]int{r.A, r.B}]
		}
		out = append(out, sheet.Relation{A: file(r.A), B: file(r.B), Kind: r.Kind.String(), Binding: binds, Certainty: sheet.Round(p, 3), Share: sheet.Round(min(max(r.Share, 0), 1), 3)})
	}
	return out
}

// sidesByName is how often two mono files whose names differ in the side alone are one stereo sound (common practice, no source).
const sidesByName = 0.98

// heardOf lists the roles that track i sounds like, the most probable first.
func heardOf(heard []Belief, i int) []sheet.Heard {
	if heard == nil {
		return nil
	}
	out := make([]sheet.Heard, len(trade.Roles))
	for r, role := range trade.Roles {
		out[r] = sheet.Heard{Role: role, Probability: sheet.Round(heard[i][r], 4)}
	}
	likely := func(a, b sheet.Heard) int { return cmp.Compare(b.Probability, a.Probability) }
	slices.SortStableFunc(out, likely)
	sum := 0.0
	for _, h := range out {
		sum += h.Probability
	}
	out[0].Probability = sheet.Round(out[0].Probability+1-sum, 4) // what rounding has added or taken
	slices.SortStableFunc(out, likely)
	return out
}

func (s *Session) Bus(p int) string {
	role, _ := s.own(s.Live[p]).Best()
	return trade.BusFor(role)
}

func (s *Session) pinned(p int) bool {
	_, ok := s.pins[p]
	return ok
}

func (s *Session) outputs(pair int) [2]int {
	if pair < len(s.opt.Outputs) {
		return s.opt.Outputs[pair]
	}
	return [2]int{2*pair + 1, 2*pair + 2}
}

// device is the interface of a pair's outputs, "" where none is known.
func (s *Session) device(pair int) string {
	if pair < len(s.opt.Devices) {
		return s.opt.Devices[pair]
	}
	return ""
}

// compareOnSheet orders tracks by role, then as they came.
func (s *Session) compareOnSheet(a, b int) int {
	ra, _ := s.own(s.Live[a]).Best()
	rb, _ := s.own(s.Live[b]).Best()
	return cmp.Or(cmp.Compare(slices.Index(trade.SheetOrder, ra), slices.Index(trade.SheetOrder, rb)), cmp.Compare(a, b))
}

// reasons gives at most mostReasons facts: what decided first. That is the tie where the track by itself would lie nearer to
// another pair, else what name and sound say of it, then the tie; then the measures that decided.
func (s *Session) reasons(labels []int, p, next int, names []string, centres *mat.Dense) []sheet.Reason {
	i := s.Live[p]
	ties := s.TieReasons(i)
	out := append([]sheet.Reason{s.RoleReason(i)}, s.companyReason(i)...)
	out = append(out, ties[:min(1, len(ties))]...)
	if len(out) == 2 && s.tieDecided(i, p, labels[p], centres) {
		out[0], out[1] = out[1], out[0]
	}
	far := s.distanceReasons(labels, p, next, names, centres)
	return append(out, far[:min(len(far), mostReasons-len(out))]...)
}

// tieDecided tells whether track i, at position p, lies on its pair for its kin's sake: by what is believed of it alone
// another pair would be nearer.
func (s *Session) tieDecided(i, p, own int, centres *mat.Dense) bool {
	kept := slices.Clone(s.Space.RawRowView(p))
	defer s.Space.SetRow(p, kept)
	s.place(p, s.own(i))
	k, _ := centres.Dims()
	at := s.Distance(p, centres.RawRowView(own))
	for l := range k {
		if s.Distance(p, centres.RawRowView(l)) < at {
			return true
		}
	}
	return false
}

// whyFree says why the nth free pair is free.
func (g *Grouping) whyFree(n int) string {
	if len(g.Free) == 0 {
		return "free: no track was put on it"
	}
	return g.Free[min(n, len(g.Free)-1)]
}

// pairReason says what the members of a pair share.
func (s *Session) pairReason(members []int) string {
	if len(members) == 0 {
		return ""
	}
	var crest, centroid []float64
	kinds := map[string]int{}
	var order []string
	for _, p := range members {
		profile := &s.Tracks[s.Live[p]].Profile
		crest = append(crest, float64(profile.CrestDB))
		centroid = append(centroid, float64(profile.CentroidHz))
		b := strings.ToLower(s.Bus(p))
		if kinds[b] == 0 {
			order = append(order, b)
		}
		kinds[b]++
	}
	slices.Sort(crest)
	slices.Sort(centroid)
	var parts []string
	for _, b := range order {
		if kinds[b] > 1 {
			b = fmt.Sprintf("%s (%d)", b, kinds[b])
		}
		parts = append(parts, b)
	}
	text := strings.Join(parts, ", ")
	if len(members) == 1 {
		return fmt.Sprintf("%s; centroid %s, crest factor %.1f dB", text, sheet.Hertz(centroid[0]), crest[0])
	}
	return fmt.Sprintf("%s; centroids %s to %s (middle %s), crest factor around %.0f dB", text,
		sheet.Hertz(centroid[0]), sheet.Hertz(centroid[len(centroid)-1]), sheet.Hertz(centroid[len(centroid)/2]), crest[len(crest)/2])
}

// figures computes the figures of merit.
func (s *Session) figures(sheet *sheet.Sheet, g *Grouping) (err error) {
	sheet.Figures, err = s.FiguresOf(g.Labels, g.Pairs)
	return err
}

// warn adds what the engineer should know about the material.
func (s *Session) warn(doc *sheet.Sheet) {
	rates := map[int]int{}
	for _, i := range s.Live {
		p := &s.Tracks[i].Profile
		rates[p.SampleRateHz]++
		if !utf8.ValidString(p.File) {
			doc.Warnings = append(doc.Warnings, strings.ToValidUTF8(p.File, "\uFFFD")+": the name is not UTF-8, and a saved sheet cannot hold it; rename the file before levels or stems")
		}
		for _, n := range p.Notes {
			doc.Warnings = append(doc.Warnings, p.File+": "+n)
		}
		if p.Wild > 0 {
			doc.Warnings = append(doc.Warnings, fmt.Sprintf("%s: %s more than 400 dB above full scale, taken as full scale; export the track again", p.File, sheet.Plural(int(p.Wild), "sample lies", "samples lie")))
		}
		if p.NonFinite > 0 {
			doc.Warnings = append(doc.Warnings, fmt.Sprintf("%s: %s as silence; export the track again", p.File, sheet.Plural(int(p.NonFinite), "value is no number and counts", "values are no numbers and count")))
		}
	}
	if len(rates) > 1 {
		var list []string
		for _, r := range slices.Sorted(maps.Keys(rates)) {
			list = append(list, fmt.Sprintf("%d at %d Hz", rates[r], r))
		}
		doc.Warnings = append(doc.Warnings, "the tracks have different sample rates: "+strings.Join(list, ", ")+"; convert them to one rate before summing")
	}
	if two := s.secondSong(); two != "" {
		doc.Warnings = append(doc.Warnings, two)
	}
	if free := doc.Settings.Pairs - doc.Figures.PairsUsed; free > 0 && doc.Figures.PairsUsed > 0 {
		doc.Warnings = append(doc.Warnings, fmt.Sprintf("%s free: the tracks fall into %s, and cutting one of them would separate like from like", sheet.Plural(free, "pair stays", "pairs stay"), sheet.Plural(doc.Figures.PairsUsed, "group", "groups")))
	}
	var loose []string
	for _, p := range doc.Pairs {
		for _, t := range p.Tracks {
			if t.Confidence < 0.5 {
				loose = append(loose, sheet.TrackName(t.File))
			}
		}
	}
	if len(loose) > 0 {
		doc.Warnings = append(doc.Warnings, "look at these yourself, their place is a near thing: "+strings.Join(loose, ", "))
	}
}

func measuredOf(p *features.Profile) sheet.Measured {
	level := func(v features.DB) features.DB { return features.DB(sheet.Round(float64(v), 2)) }
	m := sheet.Measured{
		Channels: p.Channels, DurationS: sheet.Round(p.DurationS, 3), IntegratedLUFS: level(p.IntegratedLUFS), TruePeakDBTP: level(p.TruePeakDBTP),
		ActiveRMSDBFS: level(p.ActiveRMSDBFS), CrestDB: level(p.CrestDB), CentroidHz: features.Positive(sheet.Round(float64(p.CentroidHz), 1)),
		OnsetRateHz: sheet.Round(p.OnsetRateHz, 2), AttackS: features.Positive(sheet.Round(float64(p.AttackS), 4)), DecayS: features.Positive(sheet.Round(float64(p.DecayS), 3)), Tonality: sheet.Round(p.Tonality, 3),
		ActiveShare: sheet.Round(p.ActiveShare, 3),
	}
	for b, v := range p.OctaveDB {
		m.OctaveDB[b] = level(v)
	}
	for r, v := range p.RegisterShare {
		m.RegisterShare[r] = sheet.Round(v, 4)
	}
	return m
}
