package changes

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foldout/features/timbre"
	"foldout/testdata/rolemodel/lab"
)

const farAway = 0.5 // spreads by which an element has moved

// count is how often something stayed.
type count struct{ stayed, of int }

func (c *count) add(stayed bool) {
	c.of++
	if stayed {
		c.stayed++
	}
}

func (c count) String() string {
	if c.of == 0 {
		return ""
	}
	return fmt.Sprintf("%.1f %% of %d", 100*float64(c.stayed)/float64(c.of), c.of)
}

// Tally is how often the ears hear the same family when only the file changes.
type Tally struct {
	tracks   int
	change   map[[2]string]*count // by change and material
	family   map[[2]string]*count // by family and whether a half; by what the track is
	sure     map[[2]string]*count // by how sure the ears were of the plain track, and whether a half
	to       map[string]map[string]int
	far      map[string][]int // by change: how many tracks each element moved in by more than farAway
	measured map[string]int
	Lost     []string // which family of which track did not stay, and under which change
}

// of returns the count at a key.
func of(m *map[[2]string]*count, a, b string) *count {
	if *m == nil {
		*m = map[[2]string]*count{}
	}
	if (*m)[[2]string{a, b}] == nil {
		(*m)[[2]string{a, b}] = &count{}
	}
	return (*m)[[2]string{a, b}]
}

const (
	all  = "all"
	file = "file"
	half = "half"
)

// Sum sums up tracks whose elements have the spreads given.
func Sum(tracks []Track, spread []float64) *Tally {
	y := &Tally{far: map[string][]int{}, measured: map[string]int{}, to: map[string]map[string]int{}}
	for _, t := range tracks {
		y.add(t, spread)
	}
	return y
}

// OfFile and OfHalves are how often the family stayed under a change of the file, and in a half.
func (y *Tally) OfFile() (stayed, of int) { c := y.change[[2]string{file, all}]; return c.stayed, c.of }
func (y *Tally) OfHalves() (stayed, of int) {
	c := y.change[[2]string{half, all}]
	return c.stayed, c.of
}

// Moved is in how many tracks a change moved each element by more than half a spread, and among how many tracks.
func (y *Tally) Moved(change string) (byElement []int, tracks int) {
	return y.far[change], y.measured[change]
}

func (y *Tally) add(t Track, spread []float64) {
	y.tracks++
	material := lab.Material(t.Body)
	was, p := Family(t.Plain)
	is := t.Family
	if is == "lead" || is == "bgv" {
		is = "voices"
	}
	for _, c := range All {
		v := t.Changed[c.Name]
		if v == nil {
			continue
		}
		now, _ := Family(v)
		kind := file
		if c.Half {
			kind = half
		}
		stayed := now == was
		of(&y.change, c.Name, material).add(stayed)
		of(&y.change, c.Name, all).add(stayed)
		of(&y.change, kind, material).add(stayed)
		of(&y.change, kind, all).add(stayed)
		of(&y.family, is, kind).add(stayed)
		of(&y.sure, sureness(p), kind).add(stayed)
		if !stayed {
			y.Lost = append(y.Lost, fmt.Sprintf("%s, %s: %s instead of %s", t.File, c.Name, now, was))
		}
		if !stayed && !c.Half {
			if y.to[is] == nil {
				y.to[is] = map[string]int{}
			}
			y.to[is][was+" to "+now]++
		}
		if y.far[c.Name] == nil {
			y.far[c.Name] = make([]int, len(timbre.Names))
		}
		y.measured[c.Name]++
		for e := range v {
			if math.Abs(float64(v[e]-t.Plain[e])) > farAway*spread[e] {
				y.far[c.Name][e]++
			}
		}
	}
}

var surenesses = []string{"below 40 %", "40 to 50 %", "50 to 70 %", "70 to 90 %", "90 % and more"}

func sureness(p float64) string {
	for i, edge := range []float64{0.4, 0.5, 0.7, 0.9} {
		if p < edge {
			return surenesses[i]
		}
	}
	return surenesses[4]
}

// Markdown writes tables: by change, by what the track is, by how sure the ears were, and which elements moved.
func (y *Tally) Markdown() string {
	var b strings.Builder
	stayed, ofFile := y.OfFile()
	stayedHalf, ofHalf := y.OfHalves()
	fmt.Fprintf(&b, "The family stays after %d of %d changes of the file, and in %d of %d halves.\n\n", stayed, ofFile, stayedHalf, ofHalf)
	y.byChange(&b)
	b.WriteString("\n| is | file changes | halves | what it was taken for before and after a change of the file |\n|---|---:|---:|---|\n")
	seen := map[string]bool{}
	for _, role := range lab.Roles {
		f := FamilyOf(role)
		if c := of(&y.family, f, file); c.of > 0 && !seen[f] {
			fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", f, c, of(&y.family, f, half), most(y.to[f], 4))
		}
		seen[f] = true
	}
	b.WriteString("\n| family said of the plain file with | file changes | halves |\n|---|---:|---:|\n")
	for _, s := range surenesses {
		fmt.Fprintf(&b, "| %s | %s | %s |\n", s, of(&y.sure, s, file), of(&y.sure, s, half))
	}
	fmt.Fprintf(&b, "\n| change | elements moved by more than half a spread | most often |\n|---|---:|---|\n")
	for _, c := range All {
		moved, n := y.Moved(c.Name)
		total, by := 0, map[string]int{}
		if n == 0 {
			continue
		}
		for e, far := range moved {
			total += far
			by[timbre.Names[e]] = int(100*float64(far)/float64(n) + 0.5)
		}
		fmt.Fprintf(&b, "| %s | %.1f %% | %s |\n", c.Name, 100*float64(total)/float64(n*len(timbre.Names)), most(by, 6))
	}
	return b.String()
}

// byChange writes in how many tracks the family stayed: a row per change, a column per material.
func (y *Tally) byChange(b *strings.Builder) {
	materials := []string{all}
	for _, m := range lab.Materials {
		if of(&y.change, file, m).of > 0 {
			materials = append(materials, m)
		}
	}
	fmt.Fprintf(b, "| same family heard, %d tracks | %s |\n|---|%s\n", y.tracks, strings.Join(materials, " | "), strings.Repeat("---:|", len(materials)))
	line := func(title, key string) {
		fmt.Fprintf(b, "| %s |", title)
		for _, m := range materials {
			fmt.Fprintf(b, " %s |", of(&y.change, key, m))
		}
		fmt.Fprintln(b)
	}
	for _, c := range All {
		line(c.Name, c.Name)
	}
	line("**all changes of the file**", file)
	line("**halves**", half)
}

// most lists the n most frequent, those of equal number by name.
func most(m map[string]int, n int) string {
	var keys []string
	for k, v := range m {
		if v > 0 {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(a, b string) int {
		if m[a] != m[b] {
			return m[b] - m[a]
		}
		return strings.Compare(a, b)
	})
	var out []string
	for _, k := range keys[:min(n, len(keys))] {
		out = append(out, fmt.Sprintf("%s %d", k, m[k]))
	}
	return strings.Join(out, ", ")
}
