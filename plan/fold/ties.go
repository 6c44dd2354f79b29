package fold

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"foldout/features/kinship"
	"foldout/plan/company"
	"foldout/plan/roles"
	"foldout/plan/sheet"
)

// Tie says that two tracks belong on one pair, and why.
type Tie struct {
	A, B     int // indices into Session.Tracks; A is made from B where there is a direction
	Relation kinship.Relation
	ByUser   bool
	ByName   bool           // left and right of one name
	Company  *company.Sides // left and right that are told by company; nil: by the waveforms
}

// tie turns findings about the live tracks into ties. A track that several others could have fed follows the surest.
func (s *Session) tie(found Kin) {
	best := map[int]Tie{}
	for _, r := range found {
		_, asideA := s.isAside(r.A)
		_, asideB := s.isAside(r.B)
		if asideA || asideB || !s.binds(r) {
			continue
		}
		t := Tie{A: r.A, B: r.B, Relation: r}
		switch r.Kind {
		case kinship.Return, kinship.Sum:
			// a sum or a return has many sources; it needs one to follow
			if b, ok := best[t.A]; !ok || s.certainty(r)*r.Share > s.certainty(b.Relation)*b.Relation.Share {
				best[t.A] = t
			}
		default:
			if p, ok := s.sides[pairOf(r.A, r.B)]; ok {
				t.Company = &p
			}
			s.Ties = append(s.Ties, t)
		}
	}
	for _, p := range s.Live {
		if t, ok := best[p]; ok {
			s.Ties = append(s.Ties, t)
		}
	}
}

// tieSides ties the two files whose names differ in nothing but the side, where the ears have not done so.
func (s *Session) tieSides() {
	tied := map[[2]int]bool{}
	for _, t := range s.Ties {
		tied[pairOf(t.A, t.B)] = true
	}
	live := map[int]bool{}
	for _, i := range s.Live {
		live[i] = true
	}
	mate := roles.Mates(s.Hints, func(i int) string {
		if !live[i] {
			return ""
		}
		return "live"
	})
	for i, j := range mate {
		if s.Hints[i].Side == "L" && j >= 0 && !tied[pairOf(i, j)] {
			s.Ties = append(s.Ties, Tie{A: i, B: j, ByName: true, Relation: kinship.Relation{Kind: kinship.Sides, Confidence: 1}})
		}
	}
}

// obey adds the user's ties, splits and pins and joins all ties to units.
func (s *Session) obey() error {
	position := map[int]int{}
	for p, i := range s.Live {
		position[i] = p
	}
	s.keepTies()
	for _, spec := range s.opt.Tie {
		ids, err := s.named(spec)
		if err != nil {
			return fmt.Errorf("--tie %s: %w", spec, err)
		}
		for _, b := range ids[1:] {
			s.Ties = append(s.Ties, Tie{A: ids[0], B: b, ByUser: true})
		}
	}
	for _, spec := range s.opt.Apart {
		ids, err := s.named(spec)
		if err != nil {
			return fmt.Errorf("--apart %s: %w", spec, err)
		}
		for k, a := range ids {
			for _, b := range ids[k+1:] {
				s.apart = append(s.apart, [2]int{position[a], position[b]})
			}
		}
	}
	for _, spec := range s.opt.Pin {
		name, pair, ok := cutLast(spec, "=")
		k, err := strconv.Atoi(strings.TrimSpace(pair))
		if !ok || err != nil || k < 1 || k > s.opt.Pairs {
			return fmt.Errorf("--pin %s: want TRACK=PAIR with a pair from 1 to %d", spec, s.opt.Pairs)
		}
		i, err := s.Find(unquoted(name))
		if err != nil {
			return fmt.Errorf("--pin %s: %w", spec, err)
		}
		if before, ok := s.pins[position[i]]; ok && before != k-1 {
			return fmt.Errorf("--pin %s: it is pinned to pair %d already", spec, before+1)
		}
		s.pins[position[i]] = k - 1
	}
	s.join(position)
	return nil
}

// cutLast cuts text at the last sep.
func cutLast(text, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(text, sep); i >= 0 {
		return text[:i], text[i+len(sep):], true
	}
	return text, "", false
}

// unquoted is a name without the quotes around it, if it has any.
func unquoted(name string) string {
	name = strings.TrimSpace(name)
	if len(name) > 1 && strings.HasPrefix(name, `"`) && strings.HasSuffix(name, `"`) {
		return name[1 : len(name)-1]
	}
	return name
}

// named reads a list of at least two track names, none of them twice. A name may hold commas itself, with or without quotes.
func (s *Session) named(list string) ([]int, error) {
	var ids []int
	names := sheet.Names(list)
	if len(names) < 2 {
		return nil, fmt.Errorf("want at least two track names, separated by a comma; a name that holds a comma stands in quotes")
	}
	parts := strings.Split(list, ",")
	files := s.files()
	find := sheet.NewFinder(files)
	for _, fits := range []func(name string) bool{
		func(name string) bool { return slices.Contains(files, name) }, // files as they are called go before what people call them
		func(name string) bool { return len(find.All(name)) == 1 },
	} {
		if whole := whole(parts, fits); whole != nil {
			names = whole
			break
		}
	}
	for _, name := range names {
		i, err := s.Find(name)
		if err != nil {
			return nil, err
		}
		if slices.Contains(ids, i) {
			return nil, fmt.Errorf("%s is named twice", s.Tracks[i].Profile.File)
		}
		ids = append(ids, i)
	}
	return ids, nil
}

// whole joins parts of a list that was split at its commas to names that fit: two names or more, as few parts to a name as
// can be. It is nil where that cannot be.
func whole(parts []string, fits func(name string) bool) []string {
	dead := make([]bool, len(parts)+1) // places from which the rest fits no names
	var from func(at int) []string
	from = func(at int) []string {
		if at == len(parts) {
			return []string{}
		}
		for to := at + 1; to <= len(parts) && !dead[at]; to++ {
			if at == 0 && to == len(parts) {
				break
			}
			name := strings.TrimSpace(strings.Join(parts[at:to], ","))
			if !fits(name) {
				continue
			}
			if rest := from(to); rest != nil {
				return append([]string{name}, rest...)
			}
		}
		dead[at] = true
		return nil
	}
	return from(0)
}

// Find looks a live track up by its file name, with or without folder, number and extension, in any case.
func (s *Session) Find(name string) (int, error) {
	files := s.files()
	i, err := sheet.NewFinder(files).One(name)
	if err != nil {
		return 0, err
	}
	if a, ok := s.isAside(i); ok {
		return 0, fmt.Errorf("%s is set aside (%s); if it is a track all the same, include it", files[i], a.Reason)
	}
	return i, nil
}

// join gathers ties to units: sets of positions in Live that share a pair. Tracks the user wants apart break the ties
// that the ears found between them.
func (s *Session) join(position map[int]int) {
	parent := make([]int, len(s.Live))
	for p := range parent {
		parent[p] = p
	}
	root := func(p int) int {
		for parent[p] != p {
			p = parent[p]
		}
		return p
	}
	forbidden := func(a, b int) bool {
		for _, x := range s.apart {
			ra, rb := root(x[0]), root(x[1])
			if ra == a && rb == b || ra == b && rb == a {
				return true
			}
		}
		ka, pinnedA := s.pinOf(root, a)
		kb, pinnedB := s.pinOf(root, b)
		return pinnedA && pinnedB && ka != kb
	}
	for _, byUser := range []bool{true, false} {
		kept := s.Ties[:0:0]
		for _, t := range s.Ties {
			if t.ByUser != byUser {
				kept = append(kept, t)
				continue
			}
			a, b := root(position[t.A]), root(position[t.B])
			if !byUser && a != b && forbidden(a, b) {
				continue
			}
			if a != b {
				parent[max(a, b)] = min(a, b)
			}
			kept = append(kept, t)
		}
		s.Ties = kept
	}
	members := map[int][]int{}
	for p := range parent {
		members[root(p)] = append(members[root(p)], p)
	}
	for p := range parent {
		if m := members[p]; len(m) > 1 {
			s.units = append(s.units, m)
		}
	}
}

func (s *Session) pinOf(root func(int) int, r int) (int, bool) {
	for p, k := range s.pins {
		if root(p) == r {
			return k, true
		}
	}
	return 0, false
}
