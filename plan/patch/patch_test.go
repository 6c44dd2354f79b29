package patch

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// song makes an invented sheet: pair n has the bus "Bus n" with the track "tn.wav"; outputs as without a rig.
func song(pairs int) *sheet.Sheet {
	s := &sheet.Sheet{Schema: sheet.SchemaVersion, Title: "Invented song"}
	for n := 1; n <= pairs; n++ {
		s.Pairs = append(s.Pairs, sheet.Pair{
			Name: fmt.Sprintf("Pair %d", n), Outputs: [2]int{2*n - 1, 2 * n}, Buses: []string{fmt.Sprintf("Bus %d", n)},
			Tracks: []sheet.Placement{{File: fmt.Sprintf("t%d.wav", n), Bus: fmt.Sprintf("Bus %d", n)}},
		})
	}
	return s
}

// studio has one interface with the speakers on 1/2 and the return on its last inputs.
func studio(outputs, summing int, connector, summingConnector string) *rig.Rig {
	r := rig.Plain(outputs / 2)
	r.Assumed = nil
	r.Interfaces[0].LineOutputs, r.Interfaces[0].Inputs, r.Interfaces[0].MonitorPair = outputs, 8, [2]int{1, 2}
	r.Interfaces[0].Connector = connector
	r.Summing.Inputs, r.Summing.Connector = summing, summingConnector
	r.Return.Inputs = [2]int{7, 8}
	return r
}

func lines(p *Patch) (out []string) {
	for _, l := range p.Lanes {
		for _, line := range l.Lines {
			out = append(out, fmt.Sprintf("P%d%s %d>%d", l.Number, line.Side, line.Output, line.SummingInput))
		}
	}
	return out
}

func TestPairsMeetTheRigInOrder(t *testing.T) {
	p, err := Make(song(3), studio(8, 8, rig.TRS, rig.TRS))
	require.NoError(t, err)
	assert.Equal(t, []string{"P1L 3>1", "P1R 4>2", "P2L 5>3", "P2R 6>4", "P3L 7>5", "P3R 8>6"}, lines(p))
	assert.Contains(t, strings.Join(p.Notes, "\n"), "the rig's own numbers stand here")
	assert.Equal(t, [2]int{7, 8}, p.Return.Inputs)
	assert.Equal(t, "Print", p.Return.PrintTrack)
	assert.Equal(t, Cautions, p.Cautions)
}

func TestASheetMadeForTheRigKeepsItsNumbers(t *testing.T) {
	s := song(2)
	s.Pairs[0].Outputs, s.Pairs[1].Outputs = [2]int{7, 8}, [2]int{3, 4}
	p, err := Make(s, studio(8, 8, rig.TRS, rig.TRS))
	require.NoError(t, err)
	assert.Equal(t, []string{"P1L 7>5", "P1R 8>6", "P2L 3>1", "P2R 4>2"}, lines(p))
	assert.NotContains(t, strings.Join(p.Notes, "\n"), "own numbers")
	assert.Contains(t, strings.Join(p.Notes, "\n"), "outputs 5/6 are free")
}

func TestWithoutARigAPlainOneIsTakenAndSaid(t *testing.T) {
	p, err := Make(song(4), nil)
	require.NoError(t, err)
	assert.Equal(t, []string{"P1L 1>1", "P1R 2>2", "P2L 3>3", "P2R 4>4", "P3L 5>5", "P3R 6>6", "P4L 7>7", "P4R 8>8"}, lines(p))
	assert.Contains(t, strings.Join(p.Notes, "\n"), "no rig was given")
}

func TestFreePairsOfTheSheetGiveWayInATightRig(t *testing.T) {
	s := song(4)
	s.Pairs[1].Tracks = nil
	p, err := Make(s, studio(8, 8, rig.TRS, rig.TRS))
	require.NoError(t, err)
	assert.Equal(t, []string{"P1L 3>1", "P1R 4>2", "P3L 5>3", "P3R 6>4", "P4L 7>5", "P4R 8>6"}, lines(p))
	assert.Contains(t, strings.Join(p.Notes, "\n"), "pair 2 (Pair 2) is free and has no outputs")
}

// Contradictions between sheet and rig, all invented.
func TestWhatMustNotBePluggedIsRefused(t *testing.T) {
	cases := []struct {
		name string
		bend func(*sheet.Sheet, *rig.Rig)
		want string
	}{
		{"more pairs than the rig has", func(s *sheet.Sheet, _ *rig.Rig) { *s = *song(5) }, "the sheet has 5 pairs with tracks, but this rig has only 3 free; fold again with --pairs 3"},
		{"a pair on the speakers", func(s *sheet.Sheet, _ *rig.Rig) { s.Pairs[1].Outputs = [2]int{1, 2} }, "pair 2 (Pair 2) is on outputs 1/2, but output 1 of Interface feeds the speakers"},
		{"a pair on reserved outputs", func(s *sheet.Sheet, r *rig.Rig) {
			r.Interfaces[0].ReservedOutputs = []int{7}
			s.Pairs[1].Outputs = [2]int{7, 8}
		}, "output 7 of Interface is reserved"},
		{"one output, two pairs", func(s *sheet.Sheet, _ *rig.Rig) {
			s.Pairs[0].Outputs, s.Pairs[1].Outputs = [2]int{5, 6}, [2]int{5, 6}
		}, "pair 2 (Pair 2) is on outputs 5/6, and so is pair 1"},
		{"one output for both sides", func(s *sheet.Sheet, _ *rig.Rig) { s.Pairs[1].Outputs = [2]int{5, 5} }, "names output 5 twice"},
		{"outputs beyond the rig", func(s *sheet.Sheet, _ *rig.Rig) { s.Pairs[1].Outputs = [2]int{31, 32} }, "which no interface of this rig has"},
		{"outputs across two pairs", func(s *sheet.Sheet, _ *rig.Rig) { s.Pairs[1].Outputs = [2]int{4, 5} }, "none of the pairs this rig has free"},
		{"the print track on a pair", func(s *sheet.Sheet, _ *rig.Rig) { s.Pairs[1].Tracks[0].File = "Bounces/PRINT.wav" }, "Bounces/PRINT.wav is the print track and sits on pair 2 (Pair 2)"},
		{"a rig that contradicts itself", func(_ *sheet.Sheet, r *rig.Rig) { r.Summing.Inputs = 7 }, "odd number"},
		{"a sheet without pairs", func(s *sheet.Sheet, _ *rig.Rig) { s.Pairs = nil }, "no pairs to patch"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s, r := song(2), studio(8, 8, rig.TRS, rig.TRS)
			s.Pairs[0].Outputs, s.Pairs[1].Outputs = [2]int{3, 4}, [2]int{5, 6}
			c.bend(s, r)
			_, err := Make(s, r)
			require.Error(t, err)
			assert.Contains(t, err.Error(), c.want)
			assert.NotContains(t, err.Error(), "\n")
		})
	}
}

// A patch that was bent after it was made is still caught: each hop is checked on its own.
func TestHopsAreChecked(t *testing.T) {
	cases := []struct {
		name string
		bend func(*Patch)
		want string
	}{
		{"speakers", func(p *Patch) { p.Lanes[0].Lines[0].Output = 2 }, "pair 1 L is on output 2 of Interface, which feeds the speakers"},
		{"output twice", func(p *Patch) { p.Lanes[1].Lines[1].Output = 3 }, "output 3 of Interface carries pair 1 L and pair 2 R"},
		{"output beyond", func(p *Patch) { p.Lanes[0].Lines[0].Output = 9 }, "has outputs 1 to 8"},
		{"input twice", func(p *Patch) { p.Lanes[1].Lines[0].SummingInput = 1 }, "input 1 of Summing unit is fed by pair 1 L and pair 2 L"},
		{"input beyond", func(p *Patch) { p.Lanes[0].Lines[0].SummingInput = 9 }, "has inputs 1 to 8"},
		{"interface unknown", func(p *Patch) { p.Lanes[0].Interface = "Elsewhere" }, "not in this rig"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := studio(8, 8, rig.TRS, rig.TRS)
			p, err := Make(song(2), r)
			require.NoError(t, err)
			require.Empty(t, p.check(r))
			c.bend(p)
			faults := p.check(r)
			require.Len(t, faults, 1)
			assert.Contains(t, faults[0], c.want)
		})
	}
}

func TestTrapsAreNamed(t *testing.T) {
	r := studio(16, 16, rig.DSub, rig.DSub)
	r.Summing.MonoSwitches = []int{3, 16}
	r.Interfaces[0].ReservedOutputs = []int{9, 10}
	r.Summing.MaxInputDBu = 18 // full scale is +22 dBu, so peaks must stay 4 dB below it
	p, err := Make(song(3), r)
	require.NoError(t, err)
	notes := strings.Join(p.Notes, "\n")
	for _, want := range []string{
		"25-way D-types here are wired for analogue as AES59 has it", "leave the mono switches of inputs 3 out", "keep peaks below -4.0 dBFS",
		"the speakers' outputs 1/2 of Interface share a D-type", "unused inputs",
	} {
		assert.Contains(t, notes, want)
	}
	assert.NotContains(t, notes, "output 9 of Interface is reserved but shares", "that D-type carries no pair of this sheet")
	assert.NotContains(t, notes, "polarity", "no XLR or jack between outputs and inputs")

	r = studio(8, 8, rig.XLR, rig.TRS)
	r.Return = rig.Return{}
	p, err = Make(song(3), r)
	require.NoError(t, err)
	notes = strings.Join(p.Notes, "\n")
	assert.Contains(t, notes, "polarity: XLR pin 2 hot, jack tip hot")
	assert.Contains(t, notes, "does not state where the return comes back")
	assert.NotContains(t, notes, "AES59")
}

// Full scale +24 against +20 dBu: the second is 4 dB lower for the same digital level and needs +4 dB.
func TestInterfacesOfUnlikeLevelAreNamed(t *testing.T) {
	r := studio(4, 8, rig.TRS, rig.TRS)
	r.Interfaces[0].MonitorPair, r.Interfaces[0].FullScaleDBu = [2]int{}, 24
	r.Interfaces = append(r.Interfaces, rig.Interface{Name: "Second", LineOutputs: 4, Connector: rig.TRS, InputConnector: rig.TRS, FullScaleDBu: 20})
	r.Alignment = rig.Alignment{DBFS: -20, DBu: 4}
	p, err := Make(song(4), r)
	require.NoError(t, err)
	assert.Contains(t, strings.Join(p.Notes, "\n"), "Second puts out -4.0 dB against Interface for the same digital level: trim its pairs by +4.0 dB")
}

func TestEmptyDrawsEveryFreePair(t *testing.T) {
	p, err := Empty(studio(16, 16, rig.DSub, rig.DSub))
	require.NoError(t, err)
	require.Len(t, p.Lanes, 7)
	for _, l := range p.Lanes {
		assert.True(t, l.Free)
	}
}
