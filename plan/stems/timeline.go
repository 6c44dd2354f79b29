package stems

import (
	"fmt"
	"slices"
	"strings"

	"foldout/plan/sheet"
)

// longestWaitS is how long nothing may play before a track begins; more is taken for a time reference gone wrong.
// Chosen: no song has it, and it keeps stems from growing to the length of a day.
const longestWaitS = 3600

// lineUp gives every track its offset.
//
// The time reference of a bext chunk counts samples since midnight. Many programs write a chunk without one, which
// reads as midnight sharp. So where all tracks at zero would be over before the first other begins, zero is taken for
// "not stated".
//
// Where the sheet says that a file begins some samples after the session's zero, that holds instead. The zero is the
// earliest of the other tracks, and the earliest of all where there are no others.
func (s *Session) lineUp(sameStart bool, offsets []sheet.Offset) error {
	var all []*Track
	s.each(func(t *Track) { all = append(all, t) })
	onPairs := len(all)
	for i := range s.Spare {
		all = append(all, &s.Spare[i])
	}
	given := map[string]int64{}
	for _, o := range offsets {
		if o.Start < 0 || o.Start > sheet.LatestStartS*int64(s.RateHz) {
			return fmt.Errorf("%s begins at sample %d by the settings of the sheet, which is no start; mend it or make the sheet anew with --offsets", o.File, o.Start)
		}
		given[o.File] = o.Start
	}
	for _, t := range all {
		_, t.given = given[t.File]
		t.dated = t.Info.Bext != nil && !sameStart && !t.given
	}
	if unstated := unstatedZero(all[:onPairs]); unstated != nil {
		s.Notes = append(s.Notes, fmt.Sprintf("time references of 0 are taken as not stated, since the others begin at %s: %s",
			clock(firstStated(all[:onPairs]), s.RateHz), strings.Join(unstated, ", ")))
		for _, t := range all {
			t.dated = t.dated && t.Info.Bext.TimeReference != 0
		}
	}
	first := true
	var plain []string
	earliest := int64(-1)
	for _, t := range all[:onPairs] {
		if t.given {
			if at := given[t.File]; earliest < 0 || at < earliest {
				earliest = at
			}
			continue
		}
		if !t.dated {
			plain = append(plain, t.File)
			continue
		}
		if ref := t.Info.Bext.TimeReference; first || ref < s.Start {
			s.Start, first = ref, false
			s.Date = [2]string{t.Info.Bext.OriginationDate, t.Info.Bext.OriginationTime}
		}
	}
	if !first && len(plain) > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("without a time reference and taken to begin with the session: %s", strings.Join(plain, ", ")))
	}
	base := s.Start
	if first && len(plain) == 0 {
		s.Start = max(earliest, 0)
	}
	late := 0
	for n, t := range all {
		if t.dated {
			t.Offset = t.Info.Bext.TimeReference - s.Start
		}
		if t.given {
			t.Offset = base + given[t.File] - s.Start
		}
		if n < onPairs && t.dated && t.Offset > 0 {
			late++
		}
	}
	if late > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("%s later than the first, by the time references", sheet.Plural(late, "track begins", "tracks begin")))
	}
	s.noteGiven(all[:onPairs])
	if err := s.gaps(all[:onPairs]); err != nil {
		return err
	}
	for _, t := range all[:onPairs] {
		s.Frames = max(s.Frames, t.Offset+t.Info.Frames)
	}
	for m := range s.Mixes {
		s.Mixes[m].Frames = s.Frames
	}
	return nil
}

// noteGiven says which tracks begin where the sheet says.
func (s *Session) noteGiven(tracks []*Track) {
	var list []string
	for _, t := range tracks {
		if t.given {
			list = append(list, fmt.Sprintf("%s at %s", t.File, clock(t.Offset, s.RateHz)))
		}
	}
	if len(list) > 0 {
		s.Notes = append(s.Notes, "begin where the sheet says: "+strings.Join(list, "; "))
	}
}

// unstatedZero lists the tracks whose time reference of zero cannot be meant.
func unstatedZero(tracks []*Track) (files []string) {
	var end int64
	for _, t := range tracks {
		if t.dated && t.Info.Bext.TimeReference == 0 {
			files = append(files, t.File)
			end = max(end, t.Info.Frames)
		}
	}
	if first := firstStated(tracks); first == 0 || end > first {
		return nil
	}
	return files
}

// firstStated is the smallest time reference above zero, 0 without one.
func firstStated(tracks []*Track) (first int64) {
	for _, t := range tracks {
		if t.dated && t.Info.Bext.TimeReference > 0 && (first == 0 || t.Info.Bext.TimeReference < first) {
			first = t.Info.Bext.TimeReference
		}
	}
	return first
}

// gaps refuses a session in which nothing plays for longer than longestWaitS.
func (s *Session) gaps(tracks []*Track) error {
	order := slices.Clone(tracks)
	slices.SortStableFunc(order, func(a, b *Track) int {
		switch {
		case a.Offset < b.Offset:
			return -1
		case a.Offset > b.Offset:
			return 1
		}
		return 0
	})
	var end int64
	for _, t := range order {
		if t.Offset > end && t.Offset-end > longestWaitS*int64(s.RateHz) {
			if t.given {
				return fmt.Errorf("%s begins %s after everything before it has ended, by the start that the sheet gives it; give starts counted from the earliest file",
					t.File, clock(t.Offset-end, s.RateHz))
			}
			return fmt.Errorf("%s begins at %s by its time reference, %s after everything before it has ended; if all files begin together, say so with --same-start",
				t.File, clock(t.Info.Bext.TimeReference, s.RateHz), clock(t.Offset-end, s.RateHz))
		}
		if t.Info.Frames > 1<<62-t.Offset {
			return fmt.Errorf("%s: a time reference of %d samples is no time of day; if all files begin together, say so with --same-start", t.File, t.Info.Bext.TimeReference)
		}
		end = max(end, t.Offset+t.Info.Frames)
	}
	return nil
}

// clock writes a number of frames as h:mm:ss.sss.
func clock(frames int64, rateHz int) string {
	ms := frames / int64(rateHz) * 1000
	ms += frames % int64(rateHz) * 1000 / int64(rateHz)
	return fmt.Sprintf("%d:%02d:%02d.%03d", ms/3600000, ms/60000%60, ms/1000%60, ms%1000)
}

// findSpare opens the tracks that were set aside: they are on no pair, but a mix may have them. One that cannot be read,
// or that could not be summed, is no candidate.
func (s *Session) findSpare(sheet *sheet.Sheet) {
	for _, a := range sheet.SetAside {
		if t, err := s.open(a.File); err == nil && s.fits(t) {
			t.half = a.Half
			s.Spare = append(s.Spare, t)
		}
	}
}

func (s *Session) fits(t Track) bool {
	return t.Info.SampleRateHz == s.RateHz && t.Info.Channels <= 2
}
