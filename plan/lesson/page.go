package lesson

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
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
		"Modulation": l.modulationWords(voices, voicesElse, others, othersElse), "Added": l.addedWords(), "Why": l.whyWords(voices, voicesElse, others, othersElse),
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

func (l *Lesson) modulationWords(voices, voicesElse, others, othersElse Modulated) (out []string) {
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

func (l *Lesson) whyWords(voices, voicesElse, others, othersElse Modulated) (out []string) {
	switch {
	case voices.Sounds && voices.Fast < voicesElse.Fast/2:
		out = append(out, fmt.Sprintf("The measurement speaks for one part of the practice: voices away from kick and bass are modulated less by low notes (%s instead of %s). It is the loud low tracks that do it, whatever shares the channel with them.", percent(voices.Fast), percent(voicesElse.Fast)))
	case voices.Sounds:
		out = append(out, "Voices are modulated no less here than with tracks shuffled: the measurement does not speak for the practice.")
	}
	if others.Sounds && others.Fast > othersElse.Fast {
		out = append(out, fmt.Sprintf("The other tracks pay for it: those that stay with the loud low ones are modulated more (%s instead of %s).", percent(others.Fast), percent(othersElse.Fast)))
	}
	if m := l.most(); m != nil && m.Here.Fast < HeardFrom && l.Added.RatioDB < 0 {
		out = append(out, "At the operating level none of this is heard. Physics begins to matter where the channel is driven hard; below that, that like sits with like is common practice: tracks that are balanced together, ride together and are processed together share a pair, and each pair can be driven as its kind of sound likes.")
	}
	return out
}
