package lesson

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"
)

//go:embed page.tmpl
var pageText string

var page = template.Must(template.New("page").Parse(pageText))

// row compares a figure here with that of the shuffled folds.
type row struct{ What, Here, Shuffled string }

// WritePage writes the page of words. The pictures beside it are called modulation.svg and added.svg.
func (l *Lesson) WritePage(w io.Writer) error {
	voices, voicesElse, _ := l.Means(true)
	others, othersElse, _ := l.Means(false)
	var rows []row
	add := func(what string, here, there Modulated) {
		if here.Sounds {
			rows = append(rows, row{what + ", modulated by low notes", percent(here.Fast), percent(there.Fast)}, row{what + ", dips", inDB(here.SwingDB), inDB(there.SwingDB)})
		}
	}
	add("voices (the middle one)", voices, voicesElse)
	add("other tracks (the middle one)", others, othersElse)
	return page.Execute(w, map[string]any{
		"Title": l.Title, "Start": clock(l.StartS), "Second": percent(l.SecondPC / 100), "Third": percent(l.ThirdPC / 100), "Rows": rows,
		"Modulation": l.modulationWords(), "Added": l.addedWords(), "Why": l.whyWords(),
	})
}

func percent(share float64) string {
	if share == 0 {
		return "0"
	}
	return fmt.Sprintf("%.2g %%", 100*share)
}

func inDB(v float64) string { return fmt.Sprintf("%.2f dB", v) }

func clock(s float64) string { return fmt.Sprintf("%d:%02d", int(s)/60, int(s)%60) }

// most is the track that its neighbours modulate most.
func (l *Lesson) most() *Track {
	var best *Track
	for i := range l.Tracks {
		if best == nil || l.Tracks[i].Here.Fast > best.Here.Fast {
			best = &l.Tracks[i]
		}
	}
	return best
}

func (l *Lesson) modulationWords() (out []string) {
	if m := l.most(); m != nil && m.Here.Fast > 0 {
		text := fmt.Sprintf("Most modulated is %s on pair %d (%s): %s, its level dips by up to %s.", m.Name, m.Pair, l.Names[m.Pair-1], percent(m.Here.Fast), inDB(m.Here.SwingDB))
		if m.Here.Fast < HeardFrom {
			text += fmt.Sprintf(" That is %.0f times below what is heard.", HeardFrom/m.Here.Fast)
		} else {
			text += " That can be heard."
		}
		out = append(out, text)
	}
	return append(out, "It "+begins("begins to be heard", l.MattersFastDB, "as roughness")+"; the dips "+begins("begin to be heard", l.MattersSwingDB, "as pumping")+".")
}

// begins says from which drive something is heard.
func begins(verb string, db float64, how string) string {
	switch {
	case math.IsInf(db, 1):
		return fmt.Sprintf("would not be heard even %.0f dB over the operating level", mostDriveDB)
	case db <= leastDriveDB:
		return fmt.Sprintf("can be heard %s already %.0f dB below the operating level", how, -leastDriveDB)
	case db < 0:
		return fmt.Sprintf("%s %s from %.0f dB below the operating level on", verb, how, -db)
	}
	return fmt.Sprintf("%s %s from about %.0f dB over the operating level on", verb, how, db)
}

func (l *Lesson) addedWords() []string {
	text := fmt.Sprintf("At the operating level the channels add %.0f dB re the mix, %.0f dB re what the mix masks; shuffled, %.0f dB.", l.Added.AddedDB, l.Added.RatioDB, l.Shuffled.RatioDB)
	if d := l.Added.RatioDB - l.Shuffled.RatioDB; math.Abs(d) < 3 {
		text += " How the tracks are grouped makes next to no difference here."
	} else if d < 0 {
		text += " The fold helps."
	} else {
		text += " The fold does not help here."
	}
	return []string{text, "What is added " + begins("begins to be heard", l.MattersAddedDB, "as tones of its own") + "."}
}

// bearing sorts the pairs: those whose tracks are modulated less than half as much as shuffled, and those that bear more.
func (l *Lesson) bearing() (spared, bearing []string) {
	for q, name := range l.Names {
		var here, there []float64
		for _, t := range l.Tracks {
			if t.Pair == q+1 {
				here, there = append(here, t.Here.Fast), append(there, t.Shuffled.Fast)
			}
		}
		switch a, b := quantile(here, 0.5), quantile(there, 0.5); {
		case len(here) == 0:
		case a < b/2:
			spared = append(spared, name)
		case a > b:
			bearing = append(bearing, name)
		}
	}
	return spared, bearing
}

func (l *Lesson) whyWords() (out []string) {
	spared, bearing := l.bearing()
	if len(spared) > 0 {
		out = append(out, fmt.Sprintf("The measurement speaks for one part of the practice: away from the loud low tracks %s are modulated less than half as much as with tracks shuffled.", strings.Join(spared, ", ")))
	} else {
		out = append(out, "No pair is spared much of what the tracks would do to one another if they were shuffled: here the measurement does not speak for the practice.")
	}
	if len(bearing) > 0 {
		out = append(out, fmt.Sprintf("Somebody has to share a channel with kick and bass: the tracks of %s are modulated more than with tracks shuffled.", strings.Join(bearing, ", ")))
	}
	if m := l.most(); m != nil && m.Here.Fast < HeardFrom && l.Added.RatioDB < 0 {
		out = append(out, "At the operating level none of this is heard. Physics begins to matter where the channel is driven hard; below that, that like sits with like is common practice: tracks that are balanced together, ride together and are processed together share a pair, and each pair can be driven as its kind of sound likes.")
	}
	return out
}
