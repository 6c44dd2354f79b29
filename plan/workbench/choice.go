package workbench

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// Choice is all that a person decides about a session. Everything else follows from it. Tracks are named by their file.
type Choice struct {
	Title  string            `json:"title,omitempty"` // "" for that of the folder
	Pairs  []Lane            `json:"pairs"`
	Aside  map[string]string `json:"aside,omitempty"`  // tracks on no pair, and why
	Names  map[string]string `json:"names,omitempty"`  // of tracks, where they are not that of the file
	Buses  map[string]string `json:"buses,omitempty"`  // other names of buses, by what the program calls them
	Taken  map[string]bool   `json:"taken,omitempty"`  // tracks that take part whatever they sound like
	Locked map[string]bool   `json:"locked,omitempty"` // tracks that a new fold leaves where they are
	Tied   [][]string        `json:"tied,omitempty"`   // companies that a new fold keeps on one pair
	Apart  [][]string        `json:"apart,omitempty"`  // two tracks each that a new fold keeps on different pairs
	Rig    *rig.Rig          `json:"rig,omitempty"`
	Notes  []sheet.Note      `json:"notes,omitempty"`  // for the recall sheet, as the sheet had them that was opened
	Starts []sheet.Offset    `json:"starts,omitempty"` // of tracks that begin late, as the sheet that was opened has them
}

// Lane is one pair as a person wants it.
type Lane struct {
	Name   string   `json:"name,omitempty"` // "" to be named by what it holds
	Locked bool     `json:"locked,omitempty"`
	Tracks []string `json:"tracks"`
}

// clone copies a choice, so that an act changes the copy.
func (c *Choice) clone() *Choice {
	out := *c
	out.Pairs = slices.Clone(c.Pairs)
	for i := range out.Pairs {
		out.Pairs[i].Tracks = slices.Clone(out.Pairs[i].Tracks)
	}
	out.Buses = maps.Clone(c.Buses)
	if out.Buses == nil {
		out.Buses = map[string]string{}
	}
	out.Aside, out.Names, out.Locked, out.Taken = maps.Clone(c.Aside), maps.Clone(c.Names), maps.Clone(c.Locked), maps.Clone(c.Taken)
	if out.Aside == nil {
		out.Aside = map[string]string{}
	}
	if out.Taken == nil {
		out.Taken = map[string]bool{}
	}
	if out.Names == nil {
		out.Names = map[string]string{}
	}
	if out.Locked == nil {
		out.Locked = map[string]bool{}
	}
	out.Tied, out.Apart = slices.Clone(c.Tied), slices.Clone(c.Apart)
	return &out
}

// where is the pair of a track, -1 for none.
func (c *Choice) where(file string) int {
	for n, p := range c.Pairs {
		if slices.Contains(p.Tracks, file) {
			return n
		}
	}
	return -1
}

// place maps every track on a pair to its pair.
func (c *Choice) place() map[string]int {
	at := map[string]int{}
	for n, p := range c.Pairs {
		for _, f := range p.Tracks {
			at[f] = n
		}
	}
	return at
}

// name is what a track is called.
func (c *Choice) name(file string) string {
	if n := c.Names[file]; n != "" {
		return n
	}
	return sheet.TrackName(file)
}

// choiceOf takes over what a sheet says.
func choiceOf(doc *sheet.Sheet) *Choice {
	c := (&Choice{}).clone()
	c.Notes = doc.Notes
	c.Starts = doc.Settings.Offsets
	for _, p := range doc.Pairs {
		lane := Lane{Tracks: []string{}}
		for _, t := range p.Tracks {
			lane.Tracks = append(lane.Tracks, t.File)
		}
		c.Pairs = append(c.Pairs, lane)
	}
	return c
}

// Act is one thing that a person does.
type Act struct {
	Do     string   `json:"do"`
	Tracks []string `json:"tracks,omitempty"`
	Pair   int      `json:"pair,omitempty"` // from 1
	Text   string   `json:"text,omitempty"`
	Bus    string   `json:"bus,omitempty"` // as it is called now
	On     bool     `json:"on,omitempty"`
	Rig    *rig.Rig `json:"rig,omitempty"`
	Offer  string   `json:"offer,omitempty"` // of a fold that was shown before, see offer
}

// longestName is the most letters of a name that a person gives.
const longestName = 120

// acts are the ways in which a choice is changed. Each gets a copy to change, and says what it did, in the past tense of
// a diary: "Bass DI to Rhythm".
var acts = map[string]func(s *session, c *Choice, a Act) (name string, err error){
	"move": func(s *session, c *Choice, a Act) (string, error) {
		n, err := c.pair(a.Pair)
		if err != nil {
			return "", err
		}
		for _, f := range a.Tracks {
			if !s.live[f] {
				return "", fmt.Errorf("%s has no sound and stays aside", c.name(f))
			}
			c.take(f)
			s.admit(c, f)
			c.Pairs[n].Tracks = append(c.Pairs[n].Tracks, f)
		}
		return c.several(a.Tracks) + " to " + s.pairName(n), nil
	},
	"aside": func(_ *session, c *Choice, a Act) (string, error) {
		for _, f := range a.Tracks {
			c.take(f)
			c.Aside[f] = "set aside by you"
			delete(c.Taken, f)
			delete(c.Locked, f)
		}
		return c.several(a.Tracks) + " set aside", nil
	},
	"back": func(s *session, c *Choice, a Act) (string, error) { // to where its like is
		for _, f := range a.Tracks {
			if !s.live[f] {
				return "", fmt.Errorf("%s has no sound and stays aside", c.name(f))
			}
			s.admit(c, f)
		}
		return c.several(a.Tracks) + " back", s.cover(c)
	},
	"keep": func(_ *session, c *Choice, a Act) (string, error) { // what may be no track is one
		for _, f := range a.Tracks {
			if c.where(f) < 0 {
				return "", fmt.Errorf("%s is on no pair", c.name(f))
			}
			c.Taken[f] = true
		}
		return c.several(a.Tracks) + " kept as a track", nil
	},
	"lock": func(_ *session, c *Choice, a Act) (string, error) {
		for _, f := range a.Tracks {
			if a.On && c.where(f) < 0 {
				return "", fmt.Errorf("%s is on no pair", c.name(f))
			}
			if a.On {
				c.Locked[f] = true
			} else {
				delete(c.Locked, f)
			}
		}
		return c.several(a.Tracks) + onOff(a.On, " locked", " unlocked"), nil
	},
	"lock pair": func(s *session, c *Choice, a Act) (string, error) {
		n, err := c.pair(a.Pair)
		if err != nil {
			return "", err
		}
		c.Pairs[n].Locked = a.On
		return s.pairName(n) + onOff(a.On, " locked", " unlocked"), nil
	},
	"tie": func(_ *session, c *Choice, a Act) (string, error) {
		if len(a.Tracks) < 2 {
			return "", fmt.Errorf("it takes two tracks to tie")
		}
		c.Tied = append(c.Tied, slices.Clone(a.Tracks))
		return c.several(a.Tracks) + " tied", nil
	},
	"apart": func(_ *session, c *Choice, a Act) (string, error) {
		if len(a.Tracks) != 2 {
			return "", fmt.Errorf("choose the two tracks that are to stay apart")
		}
		c.Apart = append(c.Apart, slices.Clone(a.Tracks))
		return c.several(a.Tracks) + " kept apart", nil
	},
	"free": func(_ *session, c *Choice, a Act) (string, error) {
		touches := func(list []string) bool {
			return slices.ContainsFunc(list, func(f string) bool { return slices.Contains(a.Tracks, f) })
		}
		c.Tied, c.Apart = slices.DeleteFunc(c.Tied, touches), slices.DeleteFunc(c.Apart, touches)
		return c.several(a.Tracks) + " tied to nothing", nil
	},
	"name pair": func(s *session, c *Choice, a Act) (string, error) {
		n, err := c.pair(a.Pair)
		if err != nil {
			return "", err
		}
		name, err := tidy(a.Text)
		if err != nil {
			return "", err
		}
		for i := range c.Pairs {
			if i != n && name != "" && strings.EqualFold(s.pairName(i), name) {
				return "", fmt.Errorf("pair %d is called %s already", i+1, name)
			}
		}
		was := s.pairName(n)
		c.Pairs[n].Name = name
		if name == "" {
			return was + " named by what it holds", nil
		}
		return was + " called " + name, nil
	},
	"name track": func(_ *session, c *Choice, a Act) (string, error) {
		if len(a.Tracks) != 1 {
			return "", fmt.Errorf("choose one track to name")
		}
		name, err := tidy(a.Text)
		if err != nil {
			return "", err
		}
		was := c.name(a.Tracks[0])
		c.Names[a.Tracks[0]] = name
		if name == "" || name == sheet.TrackName(a.Tracks[0]) {
			delete(c.Names, a.Tracks[0])
		}
		return was + " called " + c.name(a.Tracks[0]), nil
	},
	"name bus": func(s *session, c *Choice, a Act) (string, error) {
		name, err := tidy(a.Text)
		if err != nil {
			return "", err
		}
		own := a.Bus
		for is, called := range c.Buses {
			if called == a.Bus {
				own = is
			}
		}
		if name == "" {
			name = own
		}
		trial, err := s.write(s.choice())
		if err == nil {
			err = trial.RenameBus(a.Bus, name)
		}
		if err != nil {
			return "", err
		}
		if name == own {
			delete(c.Buses, own)
		} else {
			c.Buses[own] = name
		}
		return "bus " + a.Bus + " called " + name, nil
	},
	"title": func(_ *session, c *Choice, a Act) (string, error) {
		name, err := tidy(a.Text)
		c.Title = name
		return "the song called " + name, err
	},
	"swap": func(s *session, c *Choice, a Act) (string, error) { // with the pair before
		n, err := c.pair(a.Pair)
		if err != nil || n == 0 {
			return "", fmt.Errorf("there is no pair before it")
		}
		name := s.pairName(n) + " before " + s.pairName(n-1)
		c.Pairs[n], c.Pairs[n-1] = c.Pairs[n-1], c.Pairs[n]
		return name, nil
	},
	"rig": func(_ *session, c *Choice, a Act) (string, error) {
		if a.Rig == nil {
			c.Rig = nil
			return "no rig", nil
		}
		if err := a.Rig.Validate(); err != nil {
			return "", err
		}
		c.Rig = a.Rig
		return "rig " + a.Rig.Name, nil
	},
	"offer": func(s *session, c *Choice, a Act) (string, error) {
		return s.takeOffer(c, a.Offer)
	},
}

func onOff(on bool, yes, no string) string {
	if on {
		return yes
	}
	return no
}

// pair checks the number of a pair and returns its place in the list.
func (c *Choice) pair(number int) (int, error) {
	if number < 1 || number > len(c.Pairs) {
		return 0, fmt.Errorf("there is no pair %d", number)
	}
	return number - 1, nil
}

// take takes a track off its pair.
func (c *Choice) take(file string) {
	for n := range c.Pairs {
		c.Pairs[n].Tracks = slices.DeleteFunc(c.Pairs[n].Tracks, func(f string) bool { return f == file })
	}
}

// several names tracks shortly.
func (c *Choice) several(files []string) string {
	switch len(files) {
	case 0:
		return "nothing"
	case 1:
		return c.name(files[0])
	case 2:
		return c.name(files[0]) + " and " + c.name(files[1])
	}
	return fmt.Sprintf("%s and %d more", c.name(files[0]), len(files)-1)
}

// tidy makes what somebody typed a name: one line, no control characters, not too long.
func tidy(text string) (string, error) {
	name := strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		switch {
		case r < ' ' || r >= 0x7f && r < 0xa0:
			return ' '
		case r == 0xfffd || r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069':
			return -1
		}
		return r
	}, text)), " ")
	if n := len([]rune(name)); n > longestName {
		return "", fmt.Errorf("a name of %d letters is too long; %d are the most", n, longestName)
	}
	return name, nil
}
