package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"foldout/features/csvsafe"
)

// Manual is a sheet somebody wrote by hand: rows of a table with the columns track, pair and, if they like, bus.
type Manual struct {
	Rows  []ManualRow
	Names []string // of the pairs, pair 1 first; "" where the table gives a number only
	Notes []string // what was tolerated or left out, in plain words
	Kept  []Note   // of the engineer, from a saved sheet
	Late  []Offset // where files begin, from a saved sheet
}

// ManualRow is one line of a manual sheet.
type ManualRow struct {
	Line  int // in the file, from 1
	Track string
	Pair  int // from 1; 0 where the cell is empty
	Bus   string
	Place
}

// maxManualBytes bounds what is read as a manual sheet.
const maxManualBytes = 16 << 20

// LoadManual reads a manual sheet from a file: a table as ReadManual takes it, or a sheet saved as JSON. Errors name
// the file.
func LoadManual(path string) (*Manual, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if st, err := f.Stat(); err == nil && st.IsDir() {
		return nil, fmt.Errorf("%s is a folder; want a table with the columns track and pair, saved as CSV, or a saved sheet", path)
	}
	m, err := ReadManual(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return m, nil
}

// ReadManual reads a manual sheet as people and spreadsheets write them: a header with the columns track and pair and
// perhaps bus, pair_name, pan and gain, in any order and case and in one of seven languages, among any others; separated by comma, semicolon or tab; UTF-8 with or
// without byte order mark, UTF-16, or Windows-1252; any line ends; quotes where they are needed or not. A pair is a
// number ("3", "Pair 3"), two line outputs ("5/6") or a name; names are numbered as they first appear. Text
// that begins with { is read as a sheet saved as JSON.
func ReadManual(r io.Reader) (*Manual, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxManualBytes+1))
	if err != nil {
		return nil, err
	}
	if len(data) > maxManualBytes {
		return nil, fmt.Errorf("more than %d MB are no manual sheet", maxManualBytes>>20)
	}
	text, notes, err := decodeText(data)
	if err != nil {
		return nil, err
	}
	if strings.HasPrefix(strings.TrimSpace(text), "{") {
		sheet, err := Read(strings.NewReader(text))
		if err != nil {
			return nil, err
		}
		return sheet.Manual(), nil
	}
	m := &Manual{Notes: notes}
	return m, m.parse(text)
}

// decodeText turns what a spreadsheet saved into a string with plain line ends.
func decodeText(data []byte) (string, []string, error) {
	var notes []string
	var enc encoding.Encoding
	switch {
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}), bytes.HasPrefix(data, []byte{0xFE, 0xFF}):
		enc = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)
	case len(data) >= 4 && data[1] == 0 && data[3] == 0:
		enc = unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)
	case len(data) >= 4 && data[0] == 0 && data[2] == 0:
		enc = unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)
	case bytes.IndexByte(data, 0) >= 0:
		return "", nil, errors.New("not a text file; save the spreadsheet as CSV")
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		return "", nil, errors.New("this is a packed workbook; save the spreadsheet as CSV")
	case !utf8.Valid(data):
		enc = charmap.Windows1252
		notes = append(notes, "read as Windows-1252 text, because it is not UTF-8")
	}
	if enc != nil {
		var err error
		if data, err = enc.NewDecoder().Bytes(data); err != nil {
			return "", nil, fmt.Errorf("not readable as text: %w", err)
		}
	}
	text := strings.TrimPrefix(string(data), "\uFEFF")
	text = strings.ReplaceAll(text, "\r\n", "\n")
	return strings.ReplaceAll(text, "\r", "\n"), notes, nil
}

func (m *Manual) parse(text string) error {
	separators := ",;\t|"
	first, rest, _ := strings.Cut(text, "\n")
	skipped := 0
	if sep, ok := strings.CutPrefix(strings.ToLower(strings.Trim(first, `" `)), "sep="); ok && len(sep) == 1 {
		separators, text, skipped = sep, rest, 1
	}
	for _, comma := range separators {
		rows, err := readTable(text, comma)
		if len(rows) == 0 {
			continue
		}
		head := rows[0].cells
		track, pair := column(head, trackHeadings), column(head, pairHeadings)
		if track < 0 || pair < 0 {
			continue
		}
		if err != nil {
			return err
		}
		return m.rows(rows[1:], skipped, columns{track, pair, column(head, busHeadings), column(head, nameHeadings), column(head, panHeadings), column(head, gainHeadings)})
	}
	return fmt.Errorf("no header with the columns track and pair was found (headings may be English, German, French, Spanish, Italian, Portuguese or Dutch); the first line reads %q. Want a table such as\n  track,pair,bus\n  Kick In.wav,1,Drums", cut(first, 60))
}

// columns are the positions of the columns of a table, -1 for one that is not there.
type columns struct{ track, pair, bus, name, pan, gain int }

func (m *Manual) rows(rows []tableRow, skipped int, at columns) error {
	cell := func(row []string, i int) string {
		if i < 0 || i >= len(row) {
			return ""
		}
		return strings.Join(strings.Fields(csvsafe.Plain(row[i])), " ")
	}
	var cells, names []string
	for _, r := range rows {
		row, line := r.cells, r.line
		if t := cell(row, at.track); t != "" {
			place, err := placeOf(cell(row, at.pan), cell(row, at.gain))
			if err != nil {
				return fmt.Errorf("line %d: %w", line+skipped, err)
			}
			m.Rows = append(m.Rows, ManualRow{Line: line + skipped, Track: t, Bus: cell(row, at.bus), Place: place})
			cells, names = append(cells, cell(row, at.pair)), append(names, cell(row, at.name))
		} else if c := cell(row, at.pair); c != "" {
			m.Notes = append(m.Notes, fmt.Sprintf("line %d has no track (pair %s); left out", line+skipped, c))
		}
	}
	if len(m.Rows) == 0 {
		return errors.New("the table has a header but no tracks")
	}
	return m.number(cells, names)
}

func cut(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}

// Manual writes a saved sheet as a manual one.
func (s *Sheet) Manual() *Manual {
	m := &Manual{Kept: s.Notes, Late: s.Settings.Offsets}
	for n, p := range s.Pairs {
		m.Names = append(m.Names, p.Name)
		for _, t := range p.Tracks {
			m.Rows = append(m.Rows, ManualRow{Line: len(m.Rows) + 1, Track: t.File, Pair: n + 1, Bus: t.Bus, Place: t.Place})
		}
	}
	return m
}
