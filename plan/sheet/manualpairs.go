package sheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// number turns the cells of the pair column into pair numbers. If all are numbers they count as such; if all are names
// they are numbered as they first appear; a mixture counts as names.
func (m *Manual) number(cells, names []string) error {
	numbers := make([]int, len(cells))
	numeric := true
	for i, c := range cells {
		n, ok := PairNumber(c)
		if c != "" && !ok {
			numeric = false
		}
		if ok && (n < 1 || n > MaxPairs) {
			return fmt.Errorf("line %d: pair %s: pairs are counted from 1 to %d", m.Rows[i].Line, c, MaxPairs)
		}
		numbers[i] = n
	}
	if !numeric {
		for i, c := range cells {
			if f, err := strconv.ParseFloat(strings.Replace(c, ",", ".", 1), 64); err == nil && f != math.Trunc(f) {
				return fmt.Errorf("line %d: pair %s: want a whole number, two outputs such as 5/6, or a name", m.Rows[i].Line, c)
			}
		}
		return m.numberNames(cells)
	}
	most := 0
	for i, n := range numbers {
		m.Rows[i].Pair = n
		most = max(most, n)
	}
	if most == 0 {
		return fmt.Errorf("no track has a pair")
	}
	m.Names = make([]string, most)
	for i, n := range numbers {
		if n > 0 && m.Names[n-1] == "" {
			m.Names[n-1] = names[i]
		}
	}
	return nil
}

func (m *Manual) numberNames(cells []string) error {
	at := map[string]int{}
	for i, c := range cells {
		if c == "" {
			continue
		}
		key := strings.ToLower(c)
		if at[key] == 0 {
			m.Names = append(m.Names, c)
			at[key] = len(m.Names)
		}
		if len(m.Names) > MaxPairs {
			return fmt.Errorf("line %d: more than %d different pairs; is this the column of the pairs?", m.Rows[i].Line, MaxPairs)
		}
		m.Rows[i].Pair = at[key]
	}
	return nil
}

// PairNumber reads "3", "3.0", "Pair 3" (or Paar, Paire, Coppia, Par), "P3", "Stem 3", "5/6", "5-6", "Out 5+6", "Pair 3: Guitars" is a name.
func PairNumber(cell string) (int, bool) {
	s := strings.ToLower(strings.TrimSpace(cell))
	for _, word := range []string{"paire", "pair", "stem", "outputs", "output", "outs", "out", "line", "paar", "coppia", "par", "p", "#"} {
		if rest, ok := strings.CutPrefix(s, word); ok {
			s = strings.TrimSpace(strings.TrimPrefix(rest, "."))
			break
		}
	}
	s = strings.TrimSuffix(s, ".0")
	if n, err := strconv.Atoi(s); err == nil {
		return n, true
	}
	for _, sep := range []string{"/", "-", "+", "–", "&", " "} {
		a, b, ok := strings.Cut(s, sep)
		if !ok {
			continue
		}
		left, errA := strconv.Atoi(strings.TrimSpace(a))
		right, errB := strconv.Atoi(strings.TrimSpace(b))
		if errA == nil && errB == nil && left%2 == 1 && right == left+1 {
			return right / 2, true
		}
	}
	return 0, false
}

// plausible is the number up to which a pair may stand alone in a table.
const plausible = 16

// Offer says how many pairs there are; those that the table does not use are free. It is an error if the table uses more. 0 means
// that nobody knows: then a number far above all others is taken for a slip.
func (m *Manual) Offer(pairs int) error {
	highest := &ManualRow{}
	used := map[int]bool{}
	for i := range m.Rows {
		r := &m.Rows[i]
		if r.Pair > highest.Pair {
			highest = r
		}
		if r.Pair > 0 {
			used[r.Pair] = true
		}
	}
	if pairs > 0 && highest.Pair > pairs {
		return fmt.Errorf("line %d: %s is on pair %d, and there are %d", highest.Line, highest.Track, highest.Pair, pairs)
	}
	if pairs == 0 && highest.Pair > max(plausible, 2*len(used)) {
		return fmt.Errorf("line %d: %s is on pair %d, though the table uses %s in all; mend the number, or say with --pairs how many there are",
			highest.Line, highest.Track, highest.Pair, Plural(len(used), "pair", "pairs"))
	}
	for len(m.Names) < pairs {
		m.Names = append(m.Names, "")
	}
	return nil
}
