package trade

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestKickAndBassAreArguedFor(t *testing.T) {
	text := Argument(map[string]bool{"Drums": true, "Bass": true, "Percussion": true})
	assert.Contains(t, text, "Kick and bass")
	assert.Empty(t, Argument(map[string]bool{"Drums": true, "Lead vocals": true}), "nobody would argue for that")
	for _, a := range arguments {
		for _, b := range a.buses {
			assert.Contains(t, busNames(), b, "an argument about a bus that there is")
		}
	}
}

func busNames() []string {
	var out []string
	for _, r := range Roles {
		out = append(out, BusFor(r))
	}
	return out
}
