package roles

import "math"

// unsaid is the score of "the name does not say", against which the words are weighed. Chosen so that a word of
// weight 3 leaves one part in eight to the ears and one of weight 4 one in twenty.
const unsaid = 1.0

// drumRoles are the roles a room or overhead word may stand beside without changing its meaning.
var drumRoles = setOf("kick snare hat tom overhead cymbal room drums")

// setMarks takes the marks out of the scores and sets the kind.
func setMarks(h *Hint, score map[string]float64) {
	const enough = 0.6
	switch {
	case score["@return"] >= enough:
		h.Kind = "return"
	case score["@parallel"] >= enough:
		h.Kind = "parallel"
	case score["@double"] >= enough:
		h.Kind = "double"
	}
	noise := score["@noise"]
	for role := range score {
		if role[0] == '@' {
			delete(score, role)
		}
	}
	h.Noise = noise > 0 && noise >= top(score)
	if h.Noise {
		clear(score)
	}
}

// top is the highest score of a role.
func top(score map[string]float64) float64 {
	var t float64
	for role, v := range score {
		if role[0] != '@' {
			t = math.Max(t, v)
		}
	}
	return t
}

// settleCompounds reads words that qualify one another: "Piano Room" is a piano and "Organ OH" an organ, "Kick Room" is
// a drum room, "Bass Synth" a bass.
func settleCompounds(score map[string]float64) {
	var other float64
	for role, v := range score {
		if !drumRoles[role] {
			other = math.Max(other, v)
		}
	}
	for _, where := range []string{"room", "overhead"} {
		if other >= 2 && score[where] > 0 {
			score[where] *= 0.1
		}
	}
	if score["room"] > 0 && score["drums"] > 0 {
		score["drums"] = 0
	}
	if score["bass"] >= 2 && score["synth"] > 0 { // a synth bass is a bass
		score["synth"] *= 0.2
	}
	if score["strings"] >= 3.5 && score["bass"] > 0 && score["bass"] <= score["strings"] { // low strings are strings
		score["bass"] *= 0.4
	}
	for _, part := range []string{"kick", "snare", "tom", "hat", "overhead"} { // Kit SD: the part, not the kit
		if score[part] >= 2.5 {
			score["drums"] *= 0.5
		}
	}
}

// settle turns scores into probabilities: p(role) = exp(score) / (exp(unsaid) + sum of exp(score)).
func settle(h *Hint, score map[string]float64) {
	total := math.Exp(unsaid)
	for _, role := range sortedKeys(score) {
		if score[role] > 0 {
			total += math.Exp(score[role])
		}
	}
	for role, v := range score {
		if v > 0 {
			h.Role[role] = math.Exp(v) / total
		}
	}
}
