package stems

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"foldout/features/wavfile"
	"foldout/plan/sheet"
)

// Options say how a sheet becomes sound.
type Options struct {
	Folder    string  // where the tracks are; "" for the sheet's own folder
	PanGain   float64 // of a centred mono track on each side; 0 for sqrt(1/2), the -3 dB law
	Apart     bool    // the pairs are alternatives, each summed for itself: a track may be on several
	SameStart bool    // take all files to begin together, whatever their time references say; starts that the sheet gives hold
}

// Session is a sheet with its tracks found, checked and placed in time.
type Session struct {
	Folder  string
	RateHz  int
	Frames  int64 // from the first sample of the earliest track to the last of the latest
	Start   int64 // time reference of the first frame, samples since midnight; 0 if no track states one
	PanGain float64
	Mixes   []Mix     // one per pair of the sheet, free pairs included
	Spare   []Track   // set aside by the sheet, as far as they can be read: on no pair
	Date    [2]string // date and time of origination of the earliest dated track
	Notes   []string  // what was taken for granted
}

// Mix is what one pair (or one bus) sums.
type Mix struct {
	Number int    // of the pair, from 1
	Name   string // of the pair or bus
	Tracks []Track
	Frames int64 // length of the session
	gain   float64
}

// Track is one file placed in the session.
type Track struct {
	File   string // as on the sheet
	Path   string
	Bus    string
	Pan    Pan
	Offset int64 // frame of the session at which it starts
	Info   wavfile.Info
	dated  bool // has a time reference of its own
	given  bool // the sheet says where it begins
	half   sheet.Half
	level  *[2]float64 // on each side, where the sheet gives a pan or a gain; nil: as Pan says
}

// Pan says which sides a track reaches.
type Pan int

// A stereo track keeps its sides; a mono one stands in the centre or, as half of a split source, on its side.
const (
	Stereo Pan = iota
	Centre
	Left
	Right
	Panned // mono, where the sheet says
)

func (p Pan) String() string { return [...]string{"stereo", "centre", "left", "right", "panned"}[p] }

// Open finds the tracks of a sheet and reads their headers. No file stays open. Tracks that are missing, unreadable, of
// more than two channels or of another rate than most are errors, all of them named in one.
func Open(doc *sheet.Sheet, opt Options) (*Session, error) {
	if doc == nil || len(doc.Pairs) == 0 {
		return nil, errors.New("the sheet has no pairs")
	}
	if doc.Schema == 1 {
		return nil, errors.New("the sheet is of an older version that does not say which files are the sides of one source; roles.Halves fills that in")
	}
	s := &Session{Folder: opt.Folder, PanGain: opt.PanGain}
	if s.Folder == "" {
		s.Folder = doc.Folder
	}
	if s.PanGain == 0 {
		s.PanGain = math.Sqrt(0.5)
	}
	if !(s.PanGain > 0 && s.PanGain <= 1) {
		return nil, fmt.Errorf("pan gain %v: want more than 0 and at most 1", opt.PanGain)
	}
	if st, err := os.Stat(s.Folder); err != nil || !st.IsDir() {
		return nil, fmt.Errorf("%q is no folder with the tracks of this sheet; say where they are now with --folder", s.Folder)
	}
	if err := s.find(doc, opt.Apart); err != nil {
		return nil, err
	}
	if err := s.check(); err != nil {
		return nil, err
	}
	s.findSpare(doc)
	s.takeSides()
	if err := s.lineUp(opt.SameStart, doc.Settings.Offsets); err != nil {
		return nil, err
	}
	return s, nil
}

// Mixdown is the sum of any tracks of the session, those set aside included, as their pairs would carry them. Files that
// it does not know are an error.
func (s *Session) Mixdown(name string, files []string) (*Mix, error) {
	m := &Mix{Name: name, Frames: s.Frames, gain: s.PanGain}
	known := map[string]*Track{}
	s.each(func(t *Track) { known[t.File] = t })
	for i := range s.Spare {
		known[s.Spare[i].File] = &s.Spare[i]
	}
	for _, f := range files {
		t := known[f]
		if t == nil {
			return nil, fmt.Errorf("%s is not a track of this session that can be summed", f)
		}
		m.Tracks = append(m.Tracks, *t)
	}
	return m, nil
}

// find reads the header of every track on a pair.
func (s *Session) find(sheet *sheet.Sheet, apart bool) error {
	var missing []string
	var faults []error
	first := map[string]string{} // by the path that links and dots lead to
	for n, p := range sheet.Pairs {
		m := Mix{Number: n + 1, Name: p.Name, gain: s.PanGain}
		for _, place := range p.Tracks {
			t, err := s.open(place.File)
			switch {
			case errors.Is(err, os.ErrNotExist):
				missing = append(missing, place.File)
				continue
			case err != nil:
				faults = append(faults, err)
				continue
			}
			if real, err := filepath.EvalSymlinks(t.Path); err == nil && !apart {
				if other, twice := first[real]; twice {
					faults = append(faults, fmt.Errorf("%s and %s are one file, which would be summed twice; take one of them off the sheet", other, t.File))
					continue
				}
				first[real] = t.File
			}
			t.Bus, t.half = place.Bus, place.Half
			if err := s.place(&t, &place); err != nil {
				faults = append(faults, err)
				continue
			}
			m.Tracks = append(m.Tracks, t)
		}
		s.Mixes = append(s.Mixes, m)
	}
	if len(missing) > 0 {
		faults = append(faults, fmt.Errorf("missing from %s: %s; if the tracks have moved, say where to with --folder, if they have other names now, make a new sheet", s.Folder, strings.Join(missing, ", ")))
	}
	return errors.Join(faults...)
}

// open reads one header.
func (s *Session) open(file string) (Track, error) {
	local := filepath.FromSlash(file)
	if !filepath.IsLocal(local) {
		return Track{}, fmt.Errorf("%s: lies outside the session's folder; a sheet names tracks below it", file)
	}
	t := Track{File: file, Path: filepath.Join(s.Folder, local)}
	var err error
	if t.Info, err = wavfile.ReadInfo(t.Path); err != nil {
		return t, err
	}
	if t.Info.Channels == 1 {
		t.Pan = Centre
	}
	return t, nil
}

// each visits all tracks on pairs.
func (s *Session) each(visit func(*Track)) {
	for m := range s.Mixes {
		for t := range s.Mixes[m].Tracks {
			visit(&s.Mixes[m].Tracks[t])
		}
	}
}

// check refuses what cannot be summed.
func (s *Session) check() error {
	var faults []error
	rates := map[int][]string{}
	s.each(func(t *Track) {
		rates[t.Info.SampleRateHz] = append(rates[t.Info.SampleRateHz], t.File)
		if t.Info.Channels > 2 {
			faults = append(faults, fmt.Errorf("%s has %d channels and a pair has two; export it as stereo or mono files, one for each source in it", t.File, t.Info.Channels))
		}
	})
	if len(rates) == 0 {
		return errors.Join(append(faults, errors.New("there is no track on any pair of this sheet"))...)
	}
	for rate, files := range rates {
		if n := len(rates[s.RateHz]); len(files) > n || len(files) == n && rate > s.RateHz {
			s.RateHz = rate
		}
	}
	var others []int
	for rate := range rates {
		if rate != s.RateHz {
			others = append(others, rate)
		}
	}
	slices.Sort(others)
	for _, rate := range others {
		faults = append(faults, fmt.Errorf("%d of the tracks are at %d Hz, but these at %d Hz: %s; export all at one sample rate", len(rates[s.RateHz]), s.RateHz, rate, strings.Join(rates[rate], ", ")))
	}
	return errors.Join(faults...)
}

// takeSides sends the halves of split stereo sources to their sides. A track that claims a side without a partner that
// claims the other stays in the centre, and a note says so.
func (s *Session) takeSides() {
	stereo := map[string]bool{}
	s.each(func(t *Track) { stereo[t.File] = t.Pan == Stereo })
	var alone []string
	take := func(t *Track) {
		switch {
		case t.Pan == Panned && t.half.Side != "" && t.half.Other != "" && !stereo[t.half.Other]: // a gain, and a side by name
			gain := t.level[0] / s.PanGain
			t.level = &[2]float64{gain, 0}
			if t.half.Side != "L" {
				t.level = &[2]float64{0, gain}
			}
		case t.half.Side == "" || t.Pan != Centre:
		case t.half.Other == "" || stereo[t.half.Other]:
			alone = append(alone, t.File)
		case t.half.Side == "L":
			t.Pan = Left
		default:
			t.Pan = Right
		}
	}
	s.each(take)
	for i := range s.Spare {
		take(&s.Spare[i])
	}
	if len(alone) > 0 {
		s.Notes = append(s.Notes, "named as one side of a stereo source, but the other side was not found, so summed in the centre: "+strings.Join(alone, ", "))
	}
}

// Place tells a track on its place from all others: the same file summed in the same way has the same.
func (t *Track) Place() string {
	place := fmt.Sprintf("%s\x00%v %d", t.Path, t.Pan, t.Offset)
	if t.level != nil {
		place += fmt.Sprintf(" %v", *t.level)
	}
	return place
}
