package plan

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"gonum.org/v1/gonum/mat"
)

// Suggest folds the session onto the number of pairs in its options and writes the sheet.
func (s *Session) Suggest() (*Sheet, error) {
	g, err := s.Fold(s.opt.Pairs)
	if err != nil {
		return nil, err
	}
	return s.Sheet(g)
}

// Sheet writes a grouping down: names, buses, reasons, figures.
func (s *Session) Sheet(g *Grouping) (*Sheet, error) {
	s.labels = g.Labels
	sheet := &Sheet{Schema: SchemaVersion, Title: s.Title(), Folder: s.Folder, Warnings: []string{}, SetAside: []SetAside{}}
	sheet.Settings = Settings{Pairs: s.opt.Pairs, Seed: s.opt.Seed, EarsOnly: s.opt.EarsOnly, Tie: s.opt.Tie, Apart: s.opt.Apart, Pin: s.opt.Pin, Version: s.opt.Version}

	members := make([][]int, g.Pairs) // positions in Live
	for p, l := range g.Labels {
		members[l] = append(members[l], p)
	}
	buses := make([][]string, g.Pairs)
	for l := range members {
		slices.SortStableFunc(members[l], s.compareOnSheet)
		for _, p := range members[l] {
			if b := s.bus(p); !slices.Contains(buses[l], b) {
				buses[l] = append(buses[l], b)
			}
		}
	}
	names := namePairs(buses)
	keepNames(names, g.Names)
	labels := distinctBuses(buses)
	centres := s.centres(g.Labels, g.Pairs)
	for l := range members {
		pair := Pair{Name: names[l], Outputs: s.outputs(l), Buses: labels[l], Tracks: []Placement{}}
		if pair.Buses == nil {
			pair.Buses = []string{}
		}
		for _, p := range members[l] {
			i := s.Live[p]
			role, _ := s.Belief[i].Best()
			place := Placement{
				File: s.Tracks[i].Profile.File, Role: role, Measured: measured(&s.Tracks[i].Profile), Confidence: round(g.Confidence[p], 2),
				Bus: labels[l][slices.Index(buses[l], s.bus(p))],
			}
			if next := g.RunnerUp[p]; next >= 0 {
				place.RunnerUp = names[next]
			}
			if s.pinned(p) {
				place.Reasons = append(place.Reasons, Reason{Text: fmt.Sprintf("you pinned it to pair %d", l+1), Measure: "pin", Value: float64(l + 1)})
			}
			place.Reasons = append(place.Reasons, s.reasons(p, l, g.RunnerUp[p], names, centres)...)
			pair.Tracks = append(pair.Tracks, place)
		}
		pair.Reason = s.pairReason(members[l])
		sheet.Pairs = append(sheet.Pairs, pair)
	}
	for i := range s.Tracks {
		if why, ok := s.Aside[i]; ok {
			sheet.SetAside = append(sheet.SetAside, SetAside{s.Tracks[i].Profile.File, why})
		}
	}
	if err := s.figures(sheet, g); err != nil {
		return nil, err
	}
	s.warn(sheet)
	return sheet, nil
}

func (s *Session) bus(p int) string {
	role, _ := s.Belief[s.Live[p]].Best()
	return busFor(role)
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

// compareOnSheet orders tracks by role, then as they came.
func (s *Session) compareOnSheet(a, b int) int {
	ra, _ := s.Belief[s.Live[a]].Best()
	rb, _ := s.Belief[s.Live[b]].Best()
	return cmp.Or(cmp.Compare(slices.Index(sheetOrder, ra), slices.Index(sheetOrder, rb)), cmp.Compare(a, b))
}

// distinctBuses numbers buses that appear on several pairs: a bus leaves through one pair only.
func distinctBuses(buses [][]string) [][]string {
	count := map[string]int{}
	for _, list := range buses {
		for _, b := range list {
			count[b]++
		}
	}
	seen := map[string]int{}
	out := make([][]string, len(buses))
	for l, list := range buses {
		for _, b := range list {
			if count[b] > 1 {
				seen[b]++
				b = fmt.Sprintf("%s %d", b, seen[b])
			}
			out[l] = append(out[l], b)
		}
	}
	return out
}

// reasons gives at most mostReasons facts: ties first, then what name and sound say, then the measures that decided.
func (s *Session) reasons(p, own, next int, names []string, centres *mat.Dense) []Reason {
	i := s.Live[p]
	ties := s.tieReasons(i)
	out := ties[:min(1, len(ties))]
	out = append(out, s.roleReason(i))
	far := s.distanceReasons(p, own, next, names, centres)
	return append(out, far[:min(len(far), mostReasons-len(out))]...)
}

// pairReason says what the members of a pair share.
func (s *Session) pairReason(members []int) string {
	if len(members) == 0 {
		return "free: another pair would only cut one kind of track in two"
	}
	var crest, centroid []float64
	kinds := map[string]int{}
	var order []string
	for _, p := range members {
		profile := &s.Tracks[s.Live[p]].Profile
		crest = append(crest, float64(profile.CrestDB))
		centroid = append(centroid, profile.CentroidHz)
		b := strings.ToLower(s.bus(p))
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
		return fmt.Sprintf("%s; centroid %s, crest factor %.1f dB", text, Hertz(centroid[0]), crest[0])
	}
	return fmt.Sprintf("%s; centroids %s to %s (middle %s), crest factor around %.0f dB", text,
		Hertz(centroid[0]), Hertz(centroid[len(centroid)-1]), Hertz(centroid[len(centroid)/2]), crest[len(crest)/2])
}

// figures computes the figures of merit.
func (s *Session) figures(sheet *Sheet, g *Grouping) (err error) {
	sheet.Figures, err = s.FiguresOf(g.Labels, g.Pairs)
	return err
}

// warn adds what the engineer should know about the material.
func (s *Session) warn(sheet *Sheet) {
	rates := map[int]int{}
	for _, i := range s.Live {
		p := &s.Tracks[i].Profile
		rates[p.SampleRateHz]++
		if !utf8.ValidString(p.File) {
			sheet.Warnings = append(sheet.Warnings, strings.ToValidUTF8(p.File, "\uFFFD")+": the name is not UTF-8, and a saved sheet cannot hold it; rename the file before levels or stems")
		}
		for _, n := range p.Notes {
			sheet.Warnings = append(sheet.Warnings, p.File+": "+n)
		}
		if p.NonFinite > 0 {
			sheet.Warnings = append(sheet.Warnings, fmt.Sprintf("%s: %s as silence; export the track again", p.File, plural(int(p.NonFinite), "value is no number and counts", "values are no numbers and count")))
		}
	}
	if len(rates) > 1 {
		var list []string
		for _, r := range slices.Sorted(maps.Keys(rates)) {
			list = append(list, fmt.Sprintf("%d at %d Hz", rates[r], r))
		}
		sheet.Warnings = append(sheet.Warnings, "the tracks have different sample rates: "+strings.Join(list, ", ")+"; convert them to one rate before summing")
	}
	if free := sheet.Settings.Pairs - sheet.Figures.PairsUsed; free > 0 && sheet.Figures.PairsUsed > 0 {
		sheet.Warnings = append(sheet.Warnings, fmt.Sprintf("%s free: the tracks fall into %s, and cutting one of them would separate like from like", plural(free, "pair stays", "pairs stay"), plural(sheet.Figures.PairsUsed, "group", "groups")))
	}
	var loose []string
	for _, p := range sheet.Pairs {
		for _, t := range p.Tracks {
			if t.Confidence < 0.5 {
				loose = append(loose, trackName(t.File))
			}
		}
	}
	if len(loose) > 0 {
		sheet.Warnings = append(sheet.Warnings, "look at these yourself, their place is a near thing: "+strings.Join(loose, ", "))
	}
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
