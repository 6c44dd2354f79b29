package roles

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Which left goes with which right: common practice, no source.
func TestMates(t *testing.T) {
	for _, c := range []struct {
		names []string
		mates map[string]string
	}{
		{[]string{"Gtr 1 L", "Gtr 1 R", "Gtr 2 L", "Gtr 2 R", "Bass"}, map[string]string{"Gtr 1 L": "Gtr 1 R", "Gtr 2 L": "Gtr 2 R"}},
		{[]string{"01_GtrL1", "02_GtrR1", "03_GtrL2", "04_GtrR2"}, map[string]string{"01_GtrL1": "02_GtrR1", "03_GtrL2": "04_GtrR2"}},
		{[]string{"Jangle L_04", "Jangle R_03"}, map[string]string{"Jangle L_04": "Jangle R_03"}},
		{[]string{"Gtr 1 L_02", "Gtr 1 R_01", "Gtr 2 L_03", "Gtr 2 R_02"}, map[string]string{"Gtr 1 L_02": "Gtr 1 R_01", "Gtr 2 L_03": "Gtr 2 R_02"}},
		{[]string{"Palmas esq", "Palmas dir", "Cavaquinho"}, map[string]string{"Palmas esq": "Palmas dir"}},
		// the words of a language that the others are not in
		{[]string{"Ambiance li", "Ambiance re", "Voix", "Batterie", "Guitare"}, map[string]string{"Ambiance li": "Ambiance re"}},
		{[]string{"K19 Kitara vas 1 dyn", "K24 Kitara oik 1 dyn", "K20 Kitara vas 1 nauha", "K25 Kitara oik 1 nauha"},
			map[string]string{"K19 Kitara vas 1 dyn": "K24 Kitara oik 1 dyn", "K20 Kitara vas 1 nauha": "K25 Kitara oik 1 nauha"}},
		{[]string{"Gtr L", "Gtr", "Bass li"}, nil},
		{[]string{"Viola d", "Viola g", "Bass"}, nil}, // strings, no sides, but in French
		{[]string{"Gtr L 1", "Gtr R 2", "Gtr L 3", "Gtr R 4"}, nil},
	} {
		found := map[string]string{}
		hints := Parse(c.names)
		for i, j := range Mates(hints, func(int) string { return "all" }) {
			if j >= 0 && hints[i].Side == "L" {
				found[c.names[i]] = c.names[j]
			}
		}
		if c.mates == nil {
			assert.Empty(t, found)
		} else {
			assert.Equal(t, c.mates, found)
		}
	}
}
