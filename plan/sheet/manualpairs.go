package sheet

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// number turns the cells of the pair column into pair numbers. If all are numbers they count as such; if all are names
// they are numbered as they first appear; beside numbers, names take the lowest numbers that are free.
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
			if datePattern.MatchString(c) {
				return fmt.Errorf("line %d: pair %s looks like a date, which spreadsheets make of 5/6: format that column as text, or write the number of the pair", m.Rows[i].Line, c)
			}
			if f, err := strconv.ParseFloat(strings.Replace(c, ",", ".", 1), 64); err == nil && f != math.Trunc(f) {
				return fmt.Errorf("line %d: pair %s: want a whole number, two outputs such as 5/6, or a name", m.Rows[i].Line, c)
			}
		}
		return m.numberNames(cells, numbers)
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

// datePattern is what spreadsheets show of two outputs, 5/6, once they have taken them for a day (common practice, no source).
var datePattern = regexp.MustCompile(`(?i)^(\d{1,2}[-./ ]+(` + months + `)\.?([-./ ]+\d{2,4})?|(` + months + `)\.?[-./ ]\d{1,2}|\d{1,2}[-./]\d{1,2}[-./]\d{2,4}|\d{4}-\d{2}-\d{2}( 00:00:00)?)$`)

// months are the short names of months in the languages of the headings.
const months = `jan|janv|ene|gen|feb|fév|févr|fev|mar|mär|märz|mars|mrt|apr|abr|avr|may|mai|mag|maio|mei|jun|juin|giu|jul|juil|lug|aug|août|ago|sep|sept|oct|okt|ott|nov|dec|dez|déc|dic`

// numberNames gives every name a number; numbers holds those that the cells say themselves, else 0.
func (m *Manual) numberNames(cells []string, numbers []int) error {
	at := map[string]int{}
	for i, n := range numbers {
		for len(m.Names) < n {
			m.Names = append(m.Names, "")
		}
		m.Rows[i].Pair = n
	}
	next := 1
	for i, c := range cells {
		if c == "" || numbers[i] > 0 {
			continue
		}
		key := strings.ToLower(c)
		if at[key] == 0 {
			for slices.Contains(numbers, next) {
				next++
			}
			if next > len(m.Names) {
				m.Names = append(m.Names, "")
			}
			m.Names[next-1], at[key] = c, next
			if slices.Max(numbers) > 0 {
				m.Notes = append(m.Notes, fmt.Sprintf("line %d: %s is no number as on other lines, and is taken as the name of pair %d", m.Rows[i].Line, c, next))
			}
			next++
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
