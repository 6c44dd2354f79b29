package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/mattn/go-runewidth"
	"golang.org/x/term"

	"foldout/features"
	"foldout/plan"
)

// Widths of the text output, in columns.
const (
	narrowest   = 60
	widest      = 120
	inPipes     = 100
	firmEnough  = 0.75 // below this the runner-up is named
	busColumn   = 16
	trackColumn = 22
)

// screen describes where text goes: how wide it is and whether it may be coloured.
type screen struct {
	width int
	tty   bool
}

// screenOf looks at a writer. Pipes and files get a fixed width and no colour, and NO_COLOR is obeyed.
func screenOf(w io.Writer) screen {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return screen{width: inPipes}
	}
	s := screen{width: inPipes, tty: os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"}
	if columns, _, err := term.GetSize(int(f.Fd())); err == nil {
		s.width = max(narrowest, min(widest, columns))
	}
	return s
}

func (s screen) strong(t string) string {
	if !s.tty {
		return t
	}
	return text.Bold.Sprint(t)
}

func (s screen) faint(t string) string {
	if !s.tty {
		return t
	}
	return text.Faint.Sprint(t)
}

// writeSheetText writes one line per track; writeSheetReasons adds every reason.
func writeSheetText(w io.Writer, s *plan.Sheet) error    { return sheetText(w, s, false) }
func writeSheetReasons(w io.Writer, s *plan.Sheet) error { return sheetText(w, s, true) }

func sheetText(w io.Writer, s *plan.Sheet, allReasons bool) error {
	scr := screenOf(w)
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", scr.strong(fmt.Sprintf("%s: %s on %s", s.Title, count(countTracks(s), "track"), count(s.Figures.PairsUsed, "pair"))))
	var free []string
	for n, p := range s.Pairs {
		if len(p.Tracks) == 0 {
			free = append(free, fmt.Sprintf("%d (outputs %d/%d)", n+1, p.Outputs[0], p.Outputs[1]))
			continue
		}
		fmt.Fprintf(&b, "\n%s\n", scr.strong(fmt.Sprintf("%d  %s", n+1, strings.ToUpper(p.Name)))+scr.faint(fmt.Sprintf("  outputs %d/%d", p.Outputs[0], p.Outputs[1])))
		fmt.Fprintln(&b, scr.faint(indent(wrap(p.Reason, scr.width-3), "   ")))
		b.WriteString(pairTable(p, scr, allReasons))
		b.WriteByte('\n')
	}
	if len(free) > 0 {
		fmt.Fprintf(&b, "\nFree: %s %s\n", map[bool]string{true: "pair", false: "pairs"}[len(free) == 1], strings.Join(free, ", "))
	}
	for k, a := range s.SetAside {
		if k == 0 {
			b.WriteString("\nSet aside\n")
		}
		fmt.Fprintf(&b, "   %s: %s\n", a.File, a.Reason)
	}
	b.WriteString("\n" + scr.faint(wrap("Register: sub, low, low-mid, mid, upper-mid, presence, air, from left to right, 4 dB a step. Firm: how often the track stayed when what is believed of it was shaken. Silhouette "+
		fmt.Sprintf("%.2f, spread within pairs %.2f.", s.Figures.Silhouette, s.Figures.WithinSpread), scr.width)) + "\n")
	_, err := io.WriteString(w, b.String())
	return err
}

func pairTable(p plan.Pair, scr screen, allReasons bool) string {
	const gaps, registers, firm = 13, 7, 5
	track := trackColumn
	if scr.width < 90 {
		track = 16
	}
	why := max(16, scr.width-busColumn-track-registers-firm-gaps)
	t := table.NewWriter()
	t.SetStyle(table.StyleDefault)
	t.Style().Options = table.OptionsNoBordersAndSeparators
	t.Style().Box.PaddingLeft, t.Style().Box.PaddingRight = "  ", ""
	t.Style().Format.Header = text.FormatDefault
	t.SetColumnConfigs([]table.ColumnConfig{
		{Number: 1, WidthMin: busColumn, WidthMax: busColumn, WidthMaxEnforcer: text.WrapSoft},
		{Number: 2, WidthMin: track, WidthMax: track, WidthMaxEnforcer: text.WrapSoft},
		{Number: 3, WidthMin: registers},
		{Number: 4, WidthMin: firm, Align: text.AlignRight},
		{Number: 5, WidthMax: why, WidthMaxEnforcer: text.WrapSoft},
	})
	bus := ""
	for _, tr := range p.Tracks {
		shown := tr.Bus
		if shown == bus {
			shown = ""
		}
		bus = tr.Bus
		var reasons []string
		for _, r := range tr.Reasons {
			reasons = append(reasons, r.Text)
		}
		reason := strings.Join(reasons, "; ")
		if tr.Confidence < firmEnough && tr.RunnerUp != "" {
			reason = "or " + tr.RunnerUp + ": " + reason
		}
		if !allReasons {
			reason = elide(reason, why)
		}
		t.AppendRow(table.Row{shown, elide(displayName(tr.File), 2*track), registerBars(tr.Measured.RegisterShare), fmt.Sprintf("%.0f %%", 100*tr.Confidence), reason})
	}
	lines := strings.Split(t.Render(), "\n")
	for i, l := range lines {
		lines[i] = strings.TrimRight(l, " ")
	}
	return strings.Join(lines, "\n")
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
		return file[:dot]
	}
	return file
}

// elide cuts a text to a width at a space and marks the cut.
func elide(s string, width int) string {
	if runewidth.StringWidth(s) <= width {
		return s
	}
	cut := runewidth.Truncate(s, width-2, "")
	if space := strings.LastIndexByte(cut, ' '); space > width/2 {
		cut = cut[:space]
	}
	return strings.TrimRight(cut, " ,;:(") + " …"
}

func wrap(s string, width int) string { return indent(text.WrapSoft(s, width), "") }

func indent(s, by string) string {
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		lines[i] = by + strings.TrimRight(l, " ")
	}
	return strings.Join(lines, "\n")
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func countTracks(s *plan.Sheet) int {
	n := 0
	for _, p := range s.Pairs {
		n += len(p.Tracks)
	}
	return n
}
