package fold

import (
	"errors"
	"fmt"
	"math"
	"path"
	"slices"
	"strings"

	"foldout/features"
	"foldout/features/kinship"
	"foldout/plan/aside"
	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// setAside divides the tracks into those that take part and those that do not: silent ones, those the user excludes, and
// those that are no tracks (package aside). What the user includes takes part if it sounds.
func (s *Session) setAside() error {
	if err := s.keepPatterns(); err != nil {
		return err
	}
	included, err := s.matching(s.opt.Include, "include")
	if err != nil {
		return err
	}
	excluded, err := s.matching(s.opt.Exclude, "exclude")
	if err != nil {
		return err
	}
	placed := s.inTable()
	for i := range placed {
		included[i] = "table"
	}
	var sounding []int
	out := map[int]sheet.SetAside{}
	for i, t := range s.Tracks {
		switch {
		case t.Profile.Silent:
			out[i] = sheet.SetAside{Kind: string(aside.Silent), Certainty: 1, Reason: whySilent(&t.Profile)}
		case excluded[i] != "" && included[i] == "":
			out[i] = sheet.SetAside{Kind: string(aside.Excluded), Certainty: 1, Reason: fmt.Sprintf("you excluded it (%s)", excluded[i])}
		case s.opt.Table != nil && s.opt.Only != "" && !placed[i]:
			out[i] = sheet.SetAside{Kind: string(aside.Excluded), Certainty: 1, Reason: s.opt.Only}
		default:
			sounding = append(sounding, i)
		}
	}
	for _, f := range aside.Find(s.asideInput(sounding)) {
		if included[f.Track] != "" {
			continue
		}
		certainty := sheet.Round(f.Certainty, 2)
		if f.Set() {
			out[f.Track] = sheet.SetAside{Kind: string(f.Kind), Certainty: certainty, Reason: f.Reason}
			continue
		}
		s.Asked = append(s.Asked, sheet.Question{File: s.Tracks[f.Track].Profile.File, Kind: string(f.Kind), Certainty: certainty, Text: f.Question()})
	}
	for i, t := range s.Tracks {
		if a, ok := out[i]; ok {
			a.File = t.Profile.File
			s.Aside = append(s.Aside, a)
		} else {
			s.Live = append(s.Live, i)
		}
	}
	return nil
}

// LeftOut tells whether a track is set aside because the table made by hand does not place it.
func (s *Session) LeftOut(a sheet.SetAside) bool {
	return s.opt.Only != "" && a.Reason == s.opt.Only
}

// inTable lists the tracks that the table made by hand puts on a pair.
func (s *Session) inTable() map[int]bool {
	placed := map[int]bool{}
	if s.opt.Table == nil {
		return placed
	}
	find := sheet.NewFinder(s.files())
	for _, row := range s.opt.Table.Rows {
		if hits := find.All(row.Track); len(hits) == 1 && row.Pair > 0 {
			placed[hits[0]] = true
		}
	}
	return placed
}

// FitPans looks at the pans that a table made by hand gives to tracks that are not mono: the centre is taken off, as it says nothing
// of them, and any other is an error that names the line.
func (s *Session) FitPans(table *sheet.Manual) error {
	find := sheet.NewFinder(s.files())
	for n := range table.Rows {
		row := &table.Rows[n]
		hits := find.All(row.Track)
		if row.Pan == nil || len(hits) != 1 || s.Tracks[hits[0]].Profile.Channels == 1 {
			continue
		}
		if *row.Pan != 0 {
			p := &s.Tracks[hits[0]].Profile
			return fmt.Errorf("line %d: %s has %d channels, and a pan is for mono tracks: leave its cell empty, and turn the sides where the track was exported", row.Line, p.File, p.Channels)
		}
		row.Pan = nil
	}
	return nil
}

// files are the names of all tracks.
func (s *Session) files() []string {
	files := make([]string, len(s.Tracks))
	for i, t := range s.Tracks {
		files[i] = t.Profile.File
	}
	return files
}

func (s *Session) asideInput(live []int) aside.Input {
	derived := map[int]bool{}
	for _, r := range s.Kin {
		if r.Kind == kinship.Sum && r.Binding() {
			derived[r.A] = true
		}
	}
	return aside.Input{Tracks: s.Tracks, Hints: s.Hints, Names: !s.opt.EarsOnly, Live: live, Beliefs: byRole(s.Belief), Heard: byRole(s.Heard), Derived: derived}
}

// byRole gives the probabilities of every track by the names of the roles.
func byRole(beliefs []Belief) []map[string]float64 {
	out := make([]map[string]float64, len(beliefs))
	for i, b := range beliefs {
		out[i] = make(map[string]float64, len(b))
		for r, p := range b {
			out[i][trade.Roles[r]] = p
		}
	}
	return out
}

// isAside tells whether track i takes no part.
func (s *Session) isAside(i int) (sheet.SetAside, bool) {
	n := slices.IndexFunc(s.Aside, func(a sheet.SetAside) bool { return a.File == s.Tracks[i].Profile.File })
	if n < 0 {
		return sheet.SetAside{}, false
	}
	return s.Aside[n], true
}

// matching lists the tracks that patterns name, with the pattern. Patterns are those of path.Match, without regard to case,
// for the whole path, the name, or the name without extension. A pattern that names nothing is an error.
func (s *Session) matching(patterns []string, flag string) (map[int]string, error) {
	found := map[int]string{}
	for _, pattern := range patterns {
		any := false
		var bad error
		if i := slices.Index(s.files(), pattern); i >= 0 { // a name as it stands is that one file, whatever letters it has
			found[i] = pattern
			continue
		}
		for i, t := range s.Tracks {
			ok, err := matches(pattern, t.Profile.File)
			bad = errors.Join(bad, err)
			if ok {
				found[i], any = pattern, true
			}
		}
		switch {
		case !any && bad != nil:
			return nil, fmt.Errorf("%s %q is no pattern: * stands for any letters, ? for one", flag, pattern)
		case !any:
			return nil, fmt.Errorf("%s %q names no file of the folder", flag, pattern)
		}
	}
	return found, nil
}

func matches(pattern, file string) (bool, error) {
	pattern, file = strings.ToLower(pattern), strings.ToLower(file)
	for _, name := range []string{file, path.Base(file), strings.TrimSuffix(path.Base(file), path.Ext(file))} {
		if name == pattern {
			return true, nil
		}
		if ok, err := path.Match(pattern, name); ok || err != nil {
			return ok, err
		}
	}
	return false, nil
}

// whySilent says why a track without sound takes no part.
func whySilent(p *features.Profile) string {
	switch {
	case p.Frames == 0:
		return "empty: the file holds no samples"
	case p.NonFinite >= p.Frames*int64(p.Channels):
		return "no audio: none of its samples is a number"
	case !math.IsInf(float64(p.SamplePeakDBFS), -1) && p.DurationS < shortestS:
		return fmt.Sprintf("too short to be measured: %s", sheet.Plural(int(p.Frames), "sample", "samples"))
	}
	return "silent: nothing rises above the noise floor"
}

// shortestS is the length, in seconds, of the stretches that the gate listens to (package dynamics).
const shortestS = 0.05
