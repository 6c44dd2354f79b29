package fold

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Lists of names in which the names themselves hold commas; what belongs together is known from the files alone.
func TestNamesThatHoldCommas(t *testing.T) {
	files := map[string]bool{"Gtr, left.wav": true, "Gtr, right.wav": true, "Kick.wav": true, "a,b.wav": true, "a": true, "b.wav": true}
	for list, want := range map[string]string{
		"Gtr, left.wav,Kick.wav":         "Gtr, left.wav|Kick.wav",
		"Kick.wav,Gtr, right.wav":        "Kick.wav|Gtr, right.wav",
		"Gtr, left.wav,Gtr, right.wav":   "Gtr, left.wav|Gtr, right.wav",
		"a,b.wav":                        "a|b.wav", // two names rather than one
		"a,b.wav,Kick.wav":               "a|b.wav|Kick.wav",
		"Gtr, left.wav":                  "", // one name is no list
		"Gtr, middle.wav,Kick.wav":       "",
		strings.Repeat("Gtr,", 60) + "x": "",
	} {
		got := whole(strings.Split(list, ","), func(name string) bool { return files[name] })
		assert.Equal(t, want, strings.Join(got, "|"), list)
	}
}
