package rig

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// room makes a sound rig of interfaces with the given outputs.
func room(connector string, summing int, outputs ...int) *Rig {
	r := Plain(1)
	r.Interfaces = nil
	for n, o := range outputs {
		r.Interfaces = append(r.Interfaces, Interface{Name: fmt.Sprintf("Box %d", n+1), LineOutputs: o, Inputs: 2, Connector: connector, InputConnector: XLR, FullScaleDBu: 22})
	}
	r.Summing.Inputs, r.Summing.Connector = summing, connector
	r.Return.Interface = "Box 1"
	return r
}

// Pairs = floor(outputs/2) of each interface less the monitor pair, capped by half the summing inputs; the counts
// are worked out by hand from this rule.
func TestPairsAreCountedByTheRule(t *testing.T) {
	cases := []struct {
		name     string
		rig      *Rig
		monitors [2]int
		reserved []int
		want     int
		note     string
	}{
		{"eight, no monitors", room(TRS, 8, 8), [2]int{}, nil, 4, ""},
		{"eight, monitors on 1/2", room(TRS, 8, 8), [2]int{1, 2}, nil, 3, "outputs 1/2 feed the speakers"},
		{"monitors swapped on the plugs", room(TRS, 8, 8), [2]int{2, 1}, nil, 3, ""},
		{"monitors across two pairs", room(TRS, 8, 8), [2]int{2, 3}, nil, 3, "outputs 1 and 4 are no neighbours"},
		{"an odd output is named", room(TRS, 8, 7), [2]int{}, nil, 3, "output 7 is odd"},
		{"odd outputs and monitors at the end", room(TRS, 8, 7), [2]int{6, 7}, nil, 2, "output 5 is odd"},
		{"two interfaces", room(TRS, 32, 8, 16), [2]int{1, 2}, nil, 11, "unused inputs"},
		{"odd outputs on two interfaces do not make a pair together", room(TRS, 32, 3, 5), [2]int{}, nil, 3, "output 5 is odd"},
		{"capped by the summing unit", room(TRS, 16, 24), [2]int{}, nil, 8, "outputs 17/18 find no free inputs"},
		{"monitors and looms, straight", room(DSub, 16, 16), [2]int{1, 2}, nil, 7, "unused inputs 1-2"},
		{"monitors and looms, the straight way would cost a pair", room(DSub, 16, 24), [2]int{1, 2}, nil, 8, "outputs 19/20 find no"},
		{"headphones take a pair", room(TRS, 8, 8), [2]int{1, 2}, []int{7, 8}, 2, "reserved for something else: outputs 7-8"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			c.rig.Interfaces[0].MonitorPair, c.rig.Interfaces[0].ReservedOutputs = c.monitors, c.reserved
			pairs, notes, err := c.rig.Pairs()
			require.NoError(t, err)
			assert.Len(t, pairs, c.want)
			assert.Contains(t, strings.Join(notes, "\n"), c.note)
			checkPairs(t, c.rig, pairs, notes)
		})
	}
}

func TestNothingFreeIsAnError(t *testing.T) {
	r := room(TRS, 8, 2)
	r.Interfaces[0].MonitorPair = [2]int{1, 2}
	_, _, err := r.Pairs()
	assert.ErrorContains(t, err, "outputs 1/2 feed the speakers")
	_, _, err = (&Rig{}).Pairs()
	assert.ErrorContains(t, err, "no [[interface]]")
}

func TestStatedSummingInputsAreKept(t *testing.T) {
	r := room(TRS, 16, 4, 8)
	r.Interfaces[1].FirstSummingInput = 1
	pairs, _, err := r.Pairs()
	require.NoError(t, err)
	assert.Equal(t, []Pair{
		{"Box 1", [2]int{1, 2}, [2]int{9, 10}}, {"Box 1", [2]int{3, 4}, [2]int{11, 12}},
		{"Box 2", [2]int{1, 2}, [2]int{1, 2}}, {"Box 2", [2]int{3, 4}, [2]int{3, 4}}, {"Box 2", [2]int{5, 6}, [2]int{5, 6}}, {"Box 2", [2]int{7, 8}, [2]int{7, 8}},
	}, pairs)
	assert.Equal(t, [2]int{3, 4}, Outputs(pairs)[1])
}

func TestPlainRigIsSound(t *testing.T) {
	for _, k := range []int{-1, 0, 1, 4, 16, 5000} {
		r := Plain(k)
		pairs, _, err := r.Pairs()
		require.NoError(t, err)
		assert.Len(t, pairs, max(1, min(k, MaxChannels/2)))
		assert.NotEmpty(t, r.Assumed)
	}
}
