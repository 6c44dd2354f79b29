package habits

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"foldout/plan/sheet"
)

// maxBytes bounds what is read as habits; all heights that there are take a few kilobytes.
const maxBytes = 1 << 20

// mostHeight bounds a height; the highest of the trade is 7.
const mostHeight = 100

// file is what stands in the TOML.
type file struct {
	Sheets int          `toml:"sheets"`
	Height []fileHeight `toml:"height"`
}

type fileHeight struct {
	Kinds  []string `toml:"kinds"`
	Roles  []string `toml:"roles"`
	Height float64  `toml:"height"`
	Words  string   `toml:"words"`
}

// Load reads habits from a file that Write has written and somebody may have edited. Errors name the file and what is
// wrong in it.
func Load(path string) (*sheet.Habits, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	h, err := Read(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w; foldout habits learn writes such a file", path, err)
	}
	h.Name = filepath.Base(path)
	return h, nil
}

// Read reads habits from TOML.
func Read(r io.Reader) (*sheet.Habits, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, err
	}
	if len(data) > maxBytes {
		return nil, fmt.Errorf("more than %d kB are no habits", maxBytes>>10)
	}
	var raw file
	data = bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF")) // some editors put it in front
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&raw); err != nil {
		return nil, explain(err)
	}
	h := &sheet.Habits{Sheets: raw.Sheets}
	for n, e := range raw.Height {
		if (len(e.Kinds) == 0) == (len(e.Roles) == 0) {
			return nil, fmt.Errorf("height %d of the file: want either kinds or roles, two of them", n+1)
		}
		if !(e.Height > 0 && e.Height <= mostHeight) || math.IsNaN(e.Height) {
			return nil, fmt.Errorf("height %d of the file: %v; want a number above 0 and at most %d", n+1, e.Height, mostHeight)
		}
		h.Heights = append(h.Heights, sheet.Height(e))
	}
	if _, err := heightsOf(h); err != nil {
		return nil, err
	}
	return h, nil
}

// explain says where the TOML is at fault.
func explain(err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		row, _ := strict.Errors[0].Position()
		return fmt.Errorf("line %d: there is no key %q; there are sheets, height, kinds, roles and words", row, strings.Join(strict.Errors[0].Key(), "."))
	}
	var decode *toml.DecodeError
	if errors.As(err, &decode) {
		row, column := decode.Position()
		return fmt.Errorf("line %d, column %d: %s", row, column, strings.TrimPrefix(decode.Error(), "toml: "))
	}
	return err
}

// Write writes habits as TOML, with what was learned in words at the top and the trade's own heights beside.
func Write(w io.Writer, h *sheet.Habits, words []string) error {
	var b strings.Builder
	fmt.Fprintf(&b, "# Habits of grouping, learned from %s; the trade's own habits count as one sheet more.\n", sheet.Plural(h.Sheets, "sheet", "sheets"))
	for _, t := range words {
		fmt.Fprintf(&b, "#   %s\n", t)
	}
	if len(words) == 0 {
		fmt.Fprintln(&b, "#   nothing that the trade would do otherwise")
	}
	fmt.Fprintf(&b, `# A height is a squared distance: what meets low shares a pair first, what meets high is parted first. What is not listed meets
# where the trade has it. Heights may be changed, tables added or taken out; an entry for two roles goes before one for two kinds.
# Kinds: %s.
sheets = %d
`, strings.Join(kinds(), ", "), h.Sheets)
	common := tradeHeights()
	for _, e := range h.Heights {
		key, two := "kinds", e.Kinds
		if len(two) == 0 {
			key, two = "roles", e.Roles
		}
		fmt.Fprintf(&b, "\n[[height]]\n%s = [%q, %q]\nheight = %s # the trade: %s\n", key, two[0], two[1], float(e.Height), float(commonHeight(common, &e)))
		if e.Words != "" {
			fmt.Fprintf(&b, "words = %s\n", strconv.Quote(e.Words))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// commonHeight is the trade's height of an entry.
func commonHeight(common [][]float64, e *sheet.Height) float64 {
	in := func(r int, name string) bool { return nameOf(r, len(e.Kinds) > 0) == name }
	two := e.Roles
	if len(e.Kinds) > 0 {
		two = e.Kinds
	}
	for r := range common {
		for s := range common {
			if r != s && in(r, two[0]) && in(s, two[1]) {
				return common[r][s]
			}
		}
	}
	return 0
}

func float(v float64) string {
	s := strconv.FormatFloat(figures(v), 'f', -1, 64)
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	return s
}
