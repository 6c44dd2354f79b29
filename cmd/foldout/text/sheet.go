package text

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/mattn/go-runewidth"

	"foldout/features"
	"foldout/features/csvsafe"
	"foldout/plan/sheet"
)

// Columns of the sheet as text. Those for bus and track are as wide as their longest entry, within limits.
const (
	firmEnough   = 0.75 // below this the runner-up is named
	mostBus      = 18
	mostTrack    = 24
	mostNarrow   = 18 // for tracks on a narrow screen
	registerWide = 7
	firmWide     = 5
	gap          = 2
	narrowBelow  = 90 // on a narrower screen the bus gets a line of its own
	folded       = 72 // on a narrower one the reason does too
)

// Sheet writes a sheet with one line per track.
func Sheet(w io.Writer, s *sheet.Sheet) error { return writeSheetOn(w, s, false) }

// SheetReasons writes a sheet with every reason.
func SheetReasons(w io.Writer, s *sheet.Sheet) error { return writeSheetOn(w, s, true) }

func writeSheetOn(w io.Writer, s *sheet.Sheet, allReasons bool) error {
	_, err := io.WriteString(w, sheetText(screenOf(w), printableSheet(s), allReasons))
	return err
}

// sheetText lays a sheet out for a screen.
func sheetText(scr screen, s *sheet.Sheet, allReasons bool) string {
	t := newSheetTable(scr, s, allReasons)
	var b strings.Builder
	title := fmt.Sprintf("%s: %s on %s", sheet.Printable(s.Title), count(countTracks(s), "track"), count(s.Figures.PairsUsed, "pair"))
	fmt.Fprintln(&b, scr.strong(title))
	var free []string
	for n, p := range s.Pairs {
		if len(p.Tracks) == 0 {
			free = append(free, fmt.Sprintf("%d  %s, %s", n+1, sheet.Printable(s.OutputsOf(n)), sheet.Printable(p.Reason)))
			continue
		}
		b.WriteString("\n" + t.head(s, n) + "\n")
		bus := ""
		if t.bus == 0 && len(p.Buses) == 1 && strings.EqualFold(p.Buses[0], p.Name) {
			bus = p.Buses[0] // said by the head
		}
		for i := range p.Tracks {
			b.WriteString(t.row(n+1, &p.Tracks[i], &bus))
		}
	}
	if len(free) > 0 {
		b.WriteString("\n")
		for _, line := range free {
			fmt.Fprintln(&b, indent(wrap(line, scr.width-3), "   ")[3:])
		}
	}
	if len(s.SetAside) > 0 {
		b.WriteString("\nSet aside\n")
		for _, a := range s.SetAside {
			fmt.Fprintln(&b, indent(wrap(sheet.Printable(a.File)+": "+sheet.Printable(a.Reason), scr.width-3), "   "))
		}
	}
	if len(s.Questions) > 0 {
		b.WriteString("\nIs it a track?\n")
		for _, q := range s.Questions {
			fmt.Fprintln(&b, indent(wrap(fmt.Sprintf("%s: %s (%.0f %% sure)", sheet.Printable(q.File), sheet.Printable(q.Text), 100*q.Certainty), scr.width-3), "   "))
		}
	}
	if len(s.Remarks) > 0 {
		b.WriteString("\nRemarks\n")
		for _, r := range s.Remarks {
			fmt.Fprintln(&b, indent(wrap(sheet.Printable(r.File)+": "+sheet.Printable(r.Text), scr.width-3), "   "))
		}
	}
	b.WriteString("\n" + scr.faint(wrap(t.legend(), scr.width)) + "\n")
	return b.String()
}

// sheetTable knows how wide the columns of a sheet are.
type sheetTable struct {
	scr              screen
	sheet            *sheet.Sheet
	all              bool
	bus, track, firm int
	why              int
	open             bool // some track could sit elsewhere
}

func newSheetTable(scr screen, s *sheet.Sheet, allReasons bool) *sheetTable {
	t := &sheetTable{scr: scr, sheet: s, all: allReasons, firm: firmWide}
	most := mostTrack
	if scr.width < narrowBelow {
		most = mostNarrow
	}
	for _, p := range s.Pairs {
		for _, tr := range p.Tracks {
			t.track = max(t.track, min(most, runewidth.StringWidth(displayName(tr.File))))
			if scr.width >= narrowBelow {
				t.bus = max(t.bus, min(mostBus, runewidth.StringWidth(sheet.Printable(tr.Bus))))
			}
			t.open = t.open || t.loose(&tr)
		}
	}
	if t.open {
		t.firm += len(" or 8")
	}
	t.why = scr.width - gap - t.track - gap - registerWide - 1 - t.firm - gap
	if t.bus > 0 {
		t.why -= t.bus + gap
	}
	if scr.width < folded {
		t.why = scr.width - 3*gap
	}
	return t
}

func (t *sheetTable) loose(tr *sheet.Placement) bool {
	return tr.Confidence < firmEnough && tr.RunnerUp != ""
}

// head is the line above a pair: number, name, outputs, and what its tracks share.
func (t *sheetTable) head(s *sheet.Sheet, at int) string {
	n, p := at+1, &s.Pairs[at]
	name := strings.ToUpper(sheet.Printable(p.Name))
	room := t.scr.width - len(fmt.Sprint(n)) - 2*gap - runewidth.StringWidth(name)
	shared := sheet.Printable(s.OutputsOf(at))
	for _, more := range append([]string{count(len(p.Tracks), "track")}, middles(p)...) {
		if runewidth.StringWidth(shared)+gap+runewidth.StringWidth(more) > room {
			break
		}
		shared += ", " + more
	}
	return t.scr.tint(n, fmt.Sprint(n)) + "  " + t.scr.strong(name) + "  " + t.scr.faint(shared)
}

// middles puts into a few words where the tracks of a pair lie.
func middles(p *sheet.Pair) []string {
	var centroid, crest []float64
	for _, tr := range p.Tracks {
		if v := float64(tr.Measured.CrestDB); !math.IsNaN(v) && !math.IsInf(v, 0) && tr.Measured.CentroidHz > 0 {
			centroid, crest = append(centroid, float64(tr.Measured.CentroidHz)), append(crest, v)
		}
	}
	if len(centroid) == 0 {
		return nil
	}
	slices.Sort(centroid)
	slices.Sort(crest)
	from, to := sheet.Hertz(centroid[0]), sheet.Hertz(centroid[len(centroid)-1])
	if from != to {
		from += " to " + to
	}
	return []string{"centroid " + from, fmt.Sprintf("crest %.0f dB", crest[len(crest)/2])}
}

// row is the line, or the lines, of one track.
func (t *sheetTable) row(pair int, tr *sheet.Placement, bus *string) string {
	var b strings.Builder
	shown := sheet.Printable(tr.Bus)
	if tr.Bus == *bus {
		shown = ""
	}
	*bus = tr.Bus
	b.WriteString(strings.Repeat(" ", gap))
	if t.bus > 0 {
		b.WriteString(fill(elide(shown, t.bus), t.bus+gap))
	} else if shown != "" {
		b.WriteString(t.scr.faint(elide(shown, t.scr.width-gap)) + "\n" + strings.Repeat(" ", gap))
	}
	b.WriteString(fill(elide(displayName(tr.File), t.track), t.track+gap))
	b.WriteString(t.scr.tint(pair, registerBars(tr.Measured.RegisterShare)) + " ")
	b.WriteString(fill(t.firmness(tr), t.firm))
	before := t.scr.width - t.why
	if t.scr.width < folded {
		before = 2 * gap
		b.WriteString("\n" + strings.Repeat(" ", before))
	} else {
		b.WriteString(strings.Repeat(" ", gap))
	}
	lines := t.reasons(tr)
	for i, line := range lines {
		if i > 0 {
			b.WriteString("\n" + strings.Repeat(" ", before))
		}
		b.WriteString(line)
	}
	out := strings.Split(b.String(), "\n")
	for i := range out {
		out[i] = strings.TrimRight(out[i], " ")
	}
	return strings.Join(out, "\n") + "\n"
}

// firmness is the confidence, and the number of the pair that would do as well.
func (t *sheetTable) firmness(tr *sheet.Placement) string {
	text := fmt.Sprintf("%3.0f %%", 100*tr.Confidence)
	if t.loose(tr) {
		if n := slices.IndexFunc(t.sheet.Pairs, func(p sheet.Pair) bool { return p.Name == tr.RunnerUp }); n >= 0 {
			text += fmt.Sprintf(" or %d", n+1)
		}
	}
	return text
}

// reasons are the first reason in short, or all of them in full.
func (t *sheetTable) reasons(tr *sheet.Placement) (lines []string) {
	if !t.all {
		if len(tr.Reasons) == 0 {
			return nil
		}
		return []string{mainReason(tr.Reasons, t.why)}
	}
	for _, r := range tr.Reasons {
		for k, line := range strings.Split(wrap(sheet.Printable(r.Text()), t.why-gap), "\n") {
			if k > 0 {
				line = strings.Repeat(" ", gap) + line
			}
			lines = append(lines, line)
		}
	}
	return lines
}

// mainReason is the first reason, followed by as many of the measures that decided as the width has room for.
func mainReason(reasons []sheet.Reason, width int) string {
	line := shortReason(&reasons[0], width)
	for _, r := range reasons[1:] {
		if r.Comparison != nil && runewidth.StringWidth(line)+2+runewidth.StringWidth(r.Fact) <= width {
			line += "; " + r.Fact
		}
	}
	return line
}

// shortReason fits a reason into a width: the figures in brackets go first, then words at the end.
func shortReason(r *sheet.Reason, width int) string {
	if text := r.Text(); runewidth.StringWidth(text) <= width {
		return text
	}
	return elide(r.Fact, width)
}

func (t *sheetTable) legend() string {
	text := "Bars: sub, low, low-mid, mid, upper-mid, presence, air, 4 dB a step. Percent: "
	if t.sheet.Settings.Grow != "" || t.sheet.Settings.Like != "" {
		text += "how well the track fits the company it keeps"
	} else {
		text += "how often the track stayed on its pair when the fold was repeated with uncertain guesses"
	}
	if t.open {
		text += `; "or 3": pair 3 would do nearly as well`
	}
	text += "."
	if !t.all {
		text += " --why shows every reason."
	}
	return text
}

// registerBars draws the seven registers in block characters, 4 dB a step below the strongest.
func registerBars(shares features.Shares) string {
	blocks := []rune(" ▁▂▃▄▅▆▇█")
	var top float64
	for _, v := range shares {
		top = math.Max(top, v)
	}
	out := make([]rune, len(shares))
	for i, v := range shares {
		step := 0
		if v > 0 && top > 0 {
			step = max(0, len(blocks)-1+int(math.Round(10*math.Log10(v/top)/4)))
		}
		out[i] = blocks[step]
	}
	return string(out)
}

// displayName is the file without its extension; folders stay, they tell tracks apart.
func displayName(file string) string {
	if dot := strings.LastIndexByte(file, '.'); dot > strings.LastIndexByte(file, '/')+1 {
		file = file[:dot]
	}
	return sheet.Printable(file)
}

func countTracks(s *sheet.Sheet) int {
	n := 0
	for _, p := range s.Pairs {
		n += len(p.Tracks)
	}
	return n
}

// SheetCSV writes one row per track.
func SheetCSV(w io.Writer, s *sheet.Sheet) error {
	rows := [][]string{{"track", "pair", "bus", "pair_name", "output_left", "output_right", "role", "confidence", "runner_up", "reasons", "interface"}}
	for n, p := range s.Pairs {
		for _, t := range p.Tracks {
			var why []string
			for _, r := range t.Reasons {
				why = append(why, r.Text())
			}
			rows = append(rows, []string{t.File, strconv.Itoa(n + 1), t.Bus, p.Name, strconv.Itoa(p.Outputs[0]), strconv.Itoa(p.Outputs[1]),
				t.Role, strconv.FormatFloat(t.Confidence, 'f', 2, 64), t.RunnerUp, strings.Join(why, "; "), p.Device})
		}
	}
	return csvsafe.Write(w, rows)
}
