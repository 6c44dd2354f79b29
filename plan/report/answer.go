package report

import (
	"fmt"
	"strings"

	"foldout/plan/sheet"
)

// mostNamed is how many tracks a line of the answer names before it counts the rest.
const mostNamed = 3

// sheetAnswer puts the sheet into a question and three lines: where, how sure, what to see to.
func sheetAnswer(s *sheet.Sheet, lanes []laneView) (question string, answer []string) {
	tracks, used, loose := 0, 0, 0
	var names, open []string
	for _, l := range lanes {
		if l.Free {
			continue
		}
		used++
		tracks += l.Tracks
		loose += l.Loose
		names = append(names, fmt.Sprintf("%s (%d)", l.Name, l.Tracks))
		for _, b := range l.Buses {
			for _, t := range b.Slips {
				if t.Loose && t.Next != nil {
					open = append(open, fmt.Sprintf("%s (or %s)", t.Name, t.Next.Name))
				}
			}
		}
	}
	question = fmt.Sprintf("How do the %s of %s leave through %s?", count(tracks+len(s.SetAside), "track"), plain(s.Title), count(len(s.Pairs), "stereo pair"))
	answer = append(answer, fmt.Sprintf("%s on %s: %s.", count(tracks, "track"), count(used, "pair"), strings.Join(names, ", ")))
	switch {
	case tracks == 0:
	case loose == 0:
		answer = append(answer, "Every place is firm: no track would sit as well on another pair.")
	case len(open) > mostNamed:
		answer = append(answer, fmt.Sprintf("%d of %d places are firm; listen to %s and %d more.", tracks-loose, tracks, strings.Join(open[:mostNamed], ", "), loose-mostNamed))
	default:
		answer = append(answer, fmt.Sprintf("%d of %d places are firm; listen to %s.", tracks-loose, tracks, list(open)))
	}
	var rest []string
	if n := len(s.Pairs) - used; n > 0 {
		rest = append(rest, count(n, "pair")+" free")
	}
	if n := len(s.SetAside); n > 0 {
		rest = append(rest, count(n, "track")+" set aside")
	}
	if len(rest) == 0 {
		rest = append(rest, "All tracks are placed and all pairs are in use")
	}
	text := strings.Join(rest, ", ")
	answer = append(answer, strings.ToUpper(text[:1])+text[1:]+".")
	return question, answer
}

// levelsLine is the line of the answer on levels.
func levelsLine(v *levelsView) string {
	over := 0
	var lowest, highest *loadView
	for i := range v.Loads {
		w := &v.Loads[i]
		if w.Over {
			over++
		}
		if w.Silent {
			continue
		}
		if lowest == nil || w.LoudAt < lowest.LoudAt {
			lowest = w
		}
		if highest == nil || w.LoudAt > highest.LoudAt {
			highest = w
		}
	}
	if highest == nil {
		return "No pair carries a signal."
	}
	text := fmt.Sprintf("Loudest is %s (%s VU, trim %s dB)", highest.Name, highest.LoudVU, highest.Trim)
	if lowest != highest {
		text += fmt.Sprintf(", softest %s (%s VU, trim %s dB)", lowest.Name, lowest.LoudVU, lowest.Trim)
	}
	switch over {
	case 0:
		text += "; nothing clips."
	case 1:
		text += "; 1 pair clips."
	default:
		text += fmt.Sprintf("; %d pairs clip.", over)
	}
	return typeset(text)
}

// checkAnswer puts the judgement of a manual sheet into a question and three lines.
func checkAnswer(r *sheet.Judgement) (question string, answer []string) {
	question = fmt.Sprintf("Is %s right for %s?", plain(r.Sheet), plain(r.Title))
	if n := len(r.Misfits); n == 0 {
		answer = append(answer, "Yes: nothing is out of place.")
	} else {
		var names []string
		for _, m := range r.Misfits[:min(n, mostNamed)] {
			names = append(names, fmt.Sprintf("%s (to pair %d)", shortName(m.File), m.Suggested))
		}
		text := list(names)
		if n > mostNamed {
			text = fmt.Sprintf("%s and %d more", strings.Join(names, ", "), n-mostNamed)
		}
		answer = append(answer, fmt.Sprintf("%s: move %s.", count(n, "misfit"), text))
	}
	if len(r.Praise) > 0 {
		text := plain(strings.Join(r.Praise, "; "))
		answer = append(answer, "Right: "+text+".")
	}
	var rest []string
	for _, part := range []struct {
		n    int
		what string
	}{{len(r.Doubtful), "worth a look"}, {len(r.Parted), "away from their source"}, {len(r.Missing), "on no pair"}, {len(r.Unknown), "not in the folder"}} {
		if part.n > 0 {
			rest = append(rest, fmt.Sprintf("%d %s", part.n, part.what))
		}
	}
	if len(rest) > 0 {
		answer = append(answer, "Besides: "+strings.Join(rest, ", ")+".")
	}
	return question, answer
}
