package aside

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"foldout/features/mixture"
)

// sum finds mixes, prints and stems: tracks that many others explain, of kinds that do not share a bus.
func (s *search) sum(i int, named Kind) Finding {
	e, ok := s.sums[i]
	switch {
	case named == Click || named == Talkback || named == Tone || named == Noise || s.still(i):
		return Finding{} // whatever seems to add up to it
	case !ok:
		return s.unproved(i, named)
	}
	groups := map[string]float64{}
	for _, m := range e.Members {
		for role, p := range s.Beliefs[m.Track] {
			groups[group(role)] += m.Share * p
		}
	}
	breadth := entropyCount(groups)
	covered := s.covered(i, e.Members)
	s.held[i] = covered
	// On nine rendered sessions mixes, prints and stems held 3.1 groups and more and nearly half of the tracks; buses and microphones
	// that hear other instruments held 2.4 at most, or fewer than half of the tracks. What a few tracks explain without error is one of
	// their microphones; and a sum sounds whenever its members do, where claps on the beat rest most of the time.
	score := 3*(breadth-2.6) + 10*(covered-0.55) - 10*max(0, 0.4-covered) + 2*(2.2-max(0.8, e.ErrorDB)) - 1.5*max(0, s.work(i)-3.5)
	score -= 30 * max(0, s.longest(e.Members)-s.look.Textures[i].Sounding-0.1)
	kind := Mix
	if s.lacks(e.Members) {
		kind = Stem
	} else if s.work(i) > 4 {
		kind = Print
	}
	switch named {
	case Mix, Print, Stem:
		score += 4
		kind = named
	case Reference:
		score += 2
	default:
		if s.Names && s.Hints[i].Known() > 0.5 {
			score -= 2.5 // the name of an instrument
		}
	}
	reason := fmt.Sprintf("%d of the %d other tracks add up to it within %.1f dB", e.Count(0.003), len(s.Live)-1-len(s.sums)+1, e.ErrorDB)
	found := Finding{Kind: kind, Certainty: 0.99 * odds(score), Reason: reason}
	if said := s.called(i); said.Certainty > found.Certainty {
		return said
	}
	return found
}

// unproved is a file that only its name calls a mix, a print or a stem. It is asked about at the least: voices in unison add up
// to more than their powers do, and a mix that the tracks do not explain may be of an earlier state of the song.
func (s *search) unproved(i int, named Kind) Finding {
	whole := s.wholeness(i)
	switch named {
	case Mix, Print:
		return Finding{Kind: named, Certainty: 0.45 + 0.5*whole, Reason: fmt.Sprintf("its name says %s; %s", named, s.texture(i))}
	}
	return s.called(i)
}

// called asks about a file that its name calls a whole version of the song, whatever it adds up to. "Drums stem" and "Music 2" are
// tracks of many sessions, and say no such thing.
func (s *search) called(i int) Finding {
	if !s.Names || !isVersion(s.Tracks[i].Profile.File) {
		return Finding{}
	}
	return Finding{Kind: Stem, Certainty: 0.5, Reason: "its name says so; " + s.texture(i)}
}

// group joins the roles that a bus may hold together.
func group(role string) string {
	switch {
	case isKit(role):
		return "drums"
	case role == "lead vocal" || role == "backing vocal":
		return "voices"
	case role == "electric guitar" || role == "acoustic guitar":
		return "guitars"
	case role == "piano" || role == "organ" || role == "synth":
		return "keys"
	case role == "strings" || role == "horns":
		return "strings and horns"
	}
	return role
}

// entropyCount is the effective number of groups: exp of the entropy of their shares.
func entropyCount(groups map[string]float64) float64 {
	var total, h float64
	for _, v := range groups {
		total += v
	}
	for _, v := range groups {
		if p := v / max(total, 1e-12); p > 0 {
			h -= p * math.Log(p)
		}
	}
	return math.Exp(h)
}

// longest is the share of time that the steadiest member of a sum sounds, of those that give it a hundredth of its power.
func (s *search) longest(members []mixture.Member) (share float64) {
	for _, m := range members {
		if m.Share >= 0.01 {
			share = max(share, s.look.Textures[m.Track].Sounding)
		}
	}
	return share
}

// lacks tells whether a sum holds next to nothing of a group that the session's tracks, all at one gain, would give a good
// part of it. Each track counts for its likeliest group.
func (s *search) lacks(members []mixture.Member) bool {
	holds, would := map[string]float64{}, map[string]float64{}
	for _, m := range members {
		holds[s.groupOf(m.Track)] += m.Share
	}
	var total float64
	for _, t := range s.Live {
		if _, sum := s.sums[t]; sum {
			continue
		}
		power := math.Pow(10, float64(s.Tracks[t].Profile.IntegratedLUFS)/10)
		would[s.groupOf(t)] += power
		total += power
	}
	for g, w := range would {
		if w > 0.06*total && holds[g] < 0.1*w/total {
			return true
		}
	}
	return false
}

func (s *search) groupOf(i int) string {
	share := map[string]float64{}
	for role, p := range s.Beliefs[i] {
		share[group(role)] += p
	}
	best := ""
	for g, p := range share {
		if best == "" || p > share[best] || p == share[best] && g < best {
			best = g
		}
	}
	return best
}

// covered is the share of the session's tracks that the sum holds; tracks that are sums themselves do not count.
func (s *search) covered(i int, members []mixture.Member) float64 {
	in := map[int]bool{}
	usual := usualGain(members)
	for _, m := range members {
		in[m.Track] = m.GainDB > usual-12
	}
	n, all := 0.0, 0.0
	for _, t := range s.Live {
		if _, sum := s.sums[t]; sum || t == i {
			continue
		}
		all++
		if in[t] {
			n++
		}
	}
	return n / max(1, all)
}

// usualGain is the gain that half of the sum's power has or exceeds.
func usualGain(members []mixture.Member) float64 {
	m := slices.Clone(members)
	slices.SortFunc(m, func(a, b mixture.Member) int { return -cmp.Compare(a.GainDB, b.GainDB) })
	var have float64
	for _, x := range m {
		if have += x.Share; have >= 0.5 {
			return x.GainDB
		}
	}
	return 0
}
