package patch

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/rig"
)

// One loom carries eight channels (AES59), so that 2k lines need ceil(2k/8) of them where they start at channel 1;
// single leads count one for each line. Signal leaves by male XLR contacts and enters by female ones (AES14), so a
// lead has the opposite at each end. The lists are worked out by hand.
func TestCableList(t *testing.T) {
	cases := []struct {
		name    string
		rig     *rig.Rig
		pairs   int
		want    []string // "count kind", parts of the kind
		wantNot string
	}{
		{"looms run straight", rig.Plain(8), 8, []string{"1 25-way D-type to 25-way D-type, eight", "1 25-way D-type to 25-way D-type, eight", "2 balanced lead, XLR female to XLR male"}, "tails"},
		{"half a loom is a loom", rig.Plain(5), 5, []string{"1 25-way D-type to 25-way D-type", "1 25-way D-type to 25-way D-type", "2 balanced lead"}, "tails"},
		{"speakers leave the loom as tails", studio(16, 16, rig.DSub, rig.DSub), 7, []string{"1 25-way D-type to 25-way D-type, eight channels straight (AES59 analogue); channels 1, 2 brought out as XLR male tails", "1 25-way D-type to 25-way D-type", "2 balanced lead"}, ""},
		{"jack to jack", studio(8, 8, rig.TRS, rig.TRS), 3, []string{"6 balanced lead, TRS to TRS", "2 balanced lead, XLR female to XLR male"}, "D-type"},
		{"XLR to jack", studio(8, 8, rig.XLR, rig.TRS), 3, []string{"6 balanced lead, XLR female to TRS", "2"}, "D-type"},
		{"jack to XLR", studio(8, 8, rig.TRS, rig.XLR), 3, []string{"6 balanced lead, TRS to XLR male", "2"}, "D-type"},
		{"D-type to XLR", studio(8, 8, rig.DSub, rig.XLR), 3, []string{"1 25-way D-type (AES59 analogue) to eight tails: 6 XLR male; channels 1, 2 brought out", "2"}, ""},
		{"jack to D-type", studio(8, 8, rig.TRS, rig.DSub), 3, []string{"1 eight tails to 25-way D-type (AES59 analogue): 6 TRS", "2"}, ""},
		{"D-types that do not line up are broken out and joined", studio(24, 16, rig.DSub, rig.DSub), 8, []string{
			"1 25-way D-type (AES59 analogue) to eight tails: 6 XLR male", "1 25-way D-type (AES59 analogue) to eight tails: 8 XLR male", "1 25-way D-type (AES59 analogue) to eight tails: 2 XLR male",
			"1 eight tails to 25-way D-type (AES59 analogue): 8 XLR female", "1 eight tails to 25-way D-type (AES59 analogue): 8 XLR female", "2"}, "straight"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p, err := Make(song(c.pairs), c.rig)
			require.NoError(t, err)
			var got []string
			for _, cable := range p.Cables {
				got = append(got, fmt.Sprintf("%d %s", cable.Count, cable.Kind))
				assert.Equal(t, -1, cable.Have)
				assert.Equal(t, cable.Count, cable.Buy())
			}
			require.Len(t, got, len(c.want), strings.Join(got, "\n"))
			for n := range got {
				assert.True(t, strings.HasPrefix(got[n], c.want[n]), "%q should begin with %q", got[n], c.want[n])
			}
			if c.wantNot != "" {
				assert.NotContains(t, strings.Join(got, "\n"), c.wantNot)
			}
		})
	}
}

func TestReturnIntoADTypeIsALoom(t *testing.T) {
	r := studio(8, 8, rig.TRS, rig.TRS)
	r.Interfaces[0].InputConnector = rig.DSub
	p, err := Make(song(3), r)
	require.NoError(t, err)
	last := p.Cables[len(p.Cables)-1]
	assert.True(t, last.Loom)
	assert.Equal(t, "1 tails to 25-way D-type (AES59 analogue): 2 XLR female", fmt.Sprintf("%d %s", last.Count, last.Kind))
}

// Two looms needed and one there: one to buy. Two leads needed and five there: none.
func TestCablesAtHandAreCounted(t *testing.T) {
	r := rig.Plain(8)
	r.Cables = rig.Cables{Looms: 1, Leads: 5}
	p, err := Make(song(8), r)
	require.NoError(t, err)
	require.Len(t, p.Cables, 3)
	assert.Equal(t, []int{0, 1, 0}, []int{p.Cables[0].Buy(), p.Cables[1].Buy(), p.Cables[2].Buy()})
	assert.Contains(t, strings.Join(p.Notes, "\n"), "cables: 1 of 1 missing for P5, P6, P7, P8")
}
