package kinship

// Relations are judged pair by pair; here they compete over the whole session. A return or a sum of which a track explains
// nothing to speak of is not made from it. Nor is a return made from a track that is only a way to its sources: a bus whose
// members it hears, or a far microphone that hears several sources of the return which do not hear one another.

// leastPart is the share of its energy below which a return or a sum does not bind to a source; sumsOf counts members from there.
const leastPart = 0.03

// beyondDoubt is the certainty from which a return binds to the one track that it may come from, though a regression explains
// next to nothing of it: echoes that are modulated or far behind keep little of the waveform, and all of its course. Of 70 labelled
// sessions two returns were such, sure by 0.97 and more, and nothing else.
const beyondDoubt = 0.95

// compete marks the relations that another explanation outdoes, and those that no waveform explains.
func compete(relations []Relation) {
	kin := map[[2]int]bool{}
	members := map[int][]int{} // of sums
	sources := map[int][]int{} // of returns, where they are proved
	fed := map[int]bool{}      // returns of which some track explains a part to speak of
	for _, r := range relations {
		kin[[2]int{r.A, r.B}], kin[[2]int{r.B, r.A}] = true, true
		switch {
		case r.Kind == Sum:
			members[r.A] = append(members[r.A], r.B)
		case r.Kind == Return && r.Confidence >= Binds:
			sources[r.A] = append(sources[r.A], r.B)
			fed[r.A] = fed[r.A] || r.Share >= leastPart
		}
	}
	for i := range relations {
		r := &relations[i]
		switch r.Kind {
		case Sum:
			r.Outdone = r.Share < leastPart
		case Return:
			slight := r.Share < leastPart
			r.Faint = slight && !fed[r.A]
			r.Outdone = slight && fed[r.A] || hearsMember(r, members[r.B], kin) || severalThrough(r, sources[r.A], kin)
		}
	}
}

// hearsMember tells whether the return shares sound with a member of the bus that is said to feed it.
func hearsMember(r *Relation, members []int, kin map[[2]int]bool) bool {
	for _, m := range members {
		if m != r.A && kin[[2]int{r.A, m}] {
			return true
		}
	}
	return false
}

// severalThrough tells whether the source is kin to two other sources of the return that have nothing in common.
func severalThrough(r *Relation, sources []int, kin map[[2]int]bool) bool {
	for i, m := range sources {
		for _, n := range sources[:i] {
			if m != r.B && n != r.B && kin[[2]int{r.B, m}] && kin[[2]int{r.B, n}] && !kin[[2]int{m, n}] {
				return true
			}
		}
	}
	return false
}
