package fold

import (
	"slices"

	"foldout/features/kinship"
	"foldout/plan/trade"
)

// Two tracks that share a sound are copies, or microphones that hear one another. By waveforms alone the two are hard to tell: a
// bass and its fuzz measure as the two microphones of a drum do. What the tracks are tells more. Microphones that hear one another
// stand at a drum kit more often than anywhere else, and copies are mostly of what is no kit.
//
// The ratios were fitted to the pairs that look like copies in eight sets of labelled sessions, by tables that had not met the
// song of the pair (testdata/kinship).
const (
	bleedOfKit     = 5.0  // bleed against a copy, between two tracks of a kit
	bleedElsewhere = 0.1  // between two that are none
	mixedPair      = 0.05 // a pair of a kit's track and another, for a copy and for bleed; what is said of its sections speaks against it
	// performances is for pairs that are neither, but play the same notes or keep one time. Of 24 with no common waveform to
	// speak of (coherence below 0.15) to which the table gave a quarter and more, two were copies. Sessions made for training are full
	// of such copies; the ratio lies between what either kind of session asks for.
	performances = 4.0
	// nothingOwn is the coherence from which a track has nothing of its own beside the other, where a second microphone hears
	// something else: the two microphones of one drum come to 0.998 in the labelled sessions.
	nothingOwn = 0.999
	likelier   = 0.5 // the probability from which a copy is stated and no bleed
)

// stateCopies states what may be a copy as a copy or as bleed, whichever is likelier. Other findings stay as they are, and so does
// the list that was given.
func (s *Session) stateCopies() {
	s.Kin = slices.Clone(s.Kin)
	for i := range s.Kin {
		r := &s.Kin[i]
		if _, sides := s.sides[pairOf(r.A, r.B)]; sides || r.Copy == 0 || r.Kind != kinship.Copy && r.Kind != kinship.Processed && r.Kind != kinship.Bleed {
			continue // the same recording, or another performance, which is surer than either
		}
		copies, bleed := s.copyOrBleed(*r)
		switch {
		case copies < likelier && copies < bleed:
			r.Kind, r.Confidence = kinship.Bleed, bleed
		case r.Kind == kinship.Bleed:
			r.Kind, r.Confidence = kinship.Copy, copies
		default:
			r.Confidence = copies
		}
	}
}

// copyOrBleed weighs a finding of two tracks that may be copies by what is believed of them: the probabilities that they are, and
// that they are bleed of one another.
func (s *Session) copyOrBleed(r kinship.Relation) (copies, bleed float64) {
	a, b := s.own(r.A), s.own(r.B)
	section := oneSection(a, b)
	if s.Hints[r.A].Known() > 0.5 && s.Hints[r.B].Known() > 0.5 {
		section = knownSection(a, b)
	}
	copies, bleed = r.Copy*section, r.Bleed*bleedRatio(a, b)
	if r.Coherence >= nothingOwn {
		bleed = 0
	}
	all := copies + bleed + max(0, 1-r.Copy-r.Bleed)*performances
	return copies / all, bleed / all
}

// bleedRatio is how much likelier than a copy bleed is between two tracks of which this is believed.
func bleedRatio(a, b Belief) float64 {
	kitA, kitB := a.kit(), b.kit()
	both, none := kitA*kitB, (1-kitA)*(1-kitB)
	mixed := (1 - both - none) * mixedPair
	return (both*bleedOfKit + none*bleedElsewhere + mixed) / (both + none + mixed)
}

// kit is the probability of a track of a drum kit, its room among them.
func (b Belief) kit() (p float64) {
	for r, role := range trade.Roles {
		if trade.Kit[trade.KindOf[role]] {
			p += b[r]
		}
	}
	return p
}

// sectionShare is the share of each section of the band among the tracks of labelled sessions (2542).
var sectionShare = [...]float64{0.34, 0.06, 0.13, 0.27, 0.20}

// oneSection is the likelihood ratio of what is heard of two tracks between kin, which are of one section of the band, and what
// is taken for them; at most 1. It is 1 where nothing is known of the tracks: ears in doubt do not speak against a copy. Names do,
// see knownSection.
func oneSection(a, b Belief) float64 {
	var pa, pb [len(sectionShare)]float64
	for r, section := range sectionOf {
		pa[section] += a[r]
		pb[section] += b[r]
	}
	one, two, chance := 0.0, 1.0, 1.0
	for k, share := range sectionShare {
		one += pa[k] * pb[k] / share
		two -= pa[k] * pb[k]
		chance -= share * share
	}
	two = max(two, 0) / chance
	return min(1, (one*kinOneSection+two*(1-kinOneSection))/(one*otherOneSection+two*(1-otherOneSection)))
}
