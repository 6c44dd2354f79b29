// Package steps writes out a whole session with a summing unit, step by step, for one sheet and one rig: outputs, buses,
// return, print track, line check, trims, printing, checking, listening, export, and a recall sheet to fill in.
//
// In go a sheet.Sheet, a rig.Rig, the levels.Levels measured from both, where the sound of the tracks begins and ends (Ends),
// and the last line check where there is one. Out comes a List: numbered steps with what to do, why, cautions and a
// newcomer's questions, the table of levels to expect, and the recall sheet; as JSON, as words for the terminal (cmd) and
// as a page to print with boxes to tick (WritePage). The words fit any workstation.
//
// The way of working is common practice and has no source; figures are computed here or come from levels, patch and
// trace, which name theirs.
package steps

import (
	"errors"
	"fmt"

	"foldout/features"
	"foldout/plan/glossary"
	"foldout/plan/levels"
	"foldout/plan/linecheck/tones"
	"foldout/plan/linecheck/trace"
	"foldout/plan/patch"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// Schema is the version of List in JSON.
const Schema = 1

// List is the session on one page.
type List struct {
	Schema    int             `json:"schema"`
	Title     string          `json:"title"`
	Rig       string          `json:"rig"`
	Unit      string          `json:"summing_unit"`
	Alignment string          `json:"alignment"`
	Pairs     []Pair          `json:"pairs"`
	Return    Return          `json:"return"`
	Print     *Print          `json:"print"` // null without the tracks
	Steps     []Step          `json:"steps"`
	Recall    Recall          `json:"recall"`
	Notes     []string        `json:"notes"` // of the patch and the rig: left over, taken for granted
	Words     []glossary.Term `json:"words"` // those that a newcomer asks for
}

// Step is one step of the work.
type Step struct {
	Number   int        `json:"step"`
	Name     string     `json:"name"` // one word, the same in every list
	Title    string     `json:"title"`
	Why      string     `json:"why"`
	Do       []Item     `json:"do"`
	Cautions []string   `json:"cautions"`
	Asked    []Question `json:"asked"`
}

// Item is one thing to do, with a box to tick.
type Item struct {
	Text string   `json:"text"`
	More []string `json:"more,omitempty"` // what belongs to it, line by line
}

// Question is what a newcomer asks at this point.
type Question struct {
	Question string `json:"question"`
	Answer   string `json:"answer"`
}

// Options hold what the list is made from. Sheet is needed; a nil Rig stands for rig.Plain.
type Options struct {
	Sheet     *sheet.Sheet
	Rig       *rig.Rig
	Levels    *levels.Levels // nil: the tracks are not at hand, and no levels are printed
	Ends      *Ends          // nil with Levels nil
	Baseline  *trace.Result  // the last line check; nil where there is none
	SheetFile string         // for the commands to type; "" writes SHEET
	RigFile   string         // likewise; "" writes RIG
}

// maker is what the steps are made from.
type maker struct {
	Options
	rig   *rig.Rig
	patch *patch.Patch
	tones *tones.Plan
	list  *List
	words map[string]bool
}

// Make writes the list. Errors are those of patch.Make: a sheet that contradicts the rig has no session.
func Make(o Options) (*List, error) {
	if o.Sheet == nil || len(o.Sheet.Pairs) == 0 {
		return nil, errors.New("the sheet has no pairs")
	}
	m := &maker{Options: o, rig: o.Rig, words: map[string]bool{}}
	if m.rig == nil {
		m.rig = rig.Plain(len(o.Sheet.Pairs))
	}
	var err error
	if m.patch, err = patch.Make(o.Sheet, m.rig); err != nil {
		return nil, err
	}
	if m.tones, err = tones.ForRig(m.rig, o.Sheet); err != nil {
		return nil, err
	}
	m.list = &List{
		Schema: Schema, Title: o.Sheet.Title, Rig: m.rig.Name, Unit: m.rig.Summing.Name, Alignment: m.rig.Alignment.String(), Notes: m.patch.Notes,
	}
	m.pairs()
	m.back()
	m.length()
	for _, step := range []func() Step{
		m.safe, m.plug, m.outputs, m.route, m.comesBack, m.master, m.printTrack, m.mute, m.inTime,
		m.lineCheck, m.trims, m.mixThrough, m.record, m.checkPrint, m.compare, m.export,
	} {
		s := step()
		s.Number = len(m.list.Steps) + 1
		s.Cautions, s.Asked = append([]string{}, s.Cautions...), append([]Question{}, s.Asked...)
		m.list.Steps = append(m.list.Steps, s)
	}
	m.recall()
	for _, t := range glossary.Glossary() {
		if m.words[t.Word] {
			m.list.Words = append(m.list.Words, t)
		}
	}
	return m.list, nil
}

// ask answers a question with the glossary's entry of a word.
func (m *maker) ask(question, word string) Question {
	m.words[word] = true
	for _, t := range glossary.LookUp(word) {
		if t.Word == word {
			return Question{question, sentence(t.Formula) + " " + sentence(t.Reading)}
		}
	}
	panic("steps: the glossary lacks " + word) // a test asks for every word
}

// Meter words: a figure with its sign and one decimal; what does not exist is a dash.
func db(v features.DB) string {
	if !exists(v) {
		return "-"
	}
	s := fmt.Sprintf("%+.1f", float64(v))
	if s == "-0.0" || s == "+0.0" {
		return "0.0"
	}
	return s
}
