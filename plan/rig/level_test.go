package rig

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// 0 dBu = sqrt(0.6) V (1 mW in 600 ohm); the volts are 0.7745966692 * 10^(dBu/20), worked out with numpy 1.26.
func TestVolts(t *testing.T) {
	for dbu, volts := range map[float64]float64{0: 0.7745966692, 4: 1.22765299, 12: 3.0837, 18: 6.1528, 20: 7.7460, 24: 12.2765, -7.7815: 0.31622776} {
		assert.InEpsilon(t, volts, Volts(dbu), 2e-5, "%v dBu", dbu)
	}
	assert.Zero(t, Volts(math.Inf(-1)))
}

// EBU R 68-2000 with 0 dBu: full scale +18 dBu. SMPTE RP 155 with +4 dBu: +24 dBu. -18 dBFS = +4 dBu: +22 dBu.
func TestPresetsImplyTheirFullScale(t *testing.T) {
	want := map[string]float64{"EBU R 68": 18, "SMPTE RP 155": 24, "-18 dBFS = +4 dBu": 22}
	require.Len(t, Presets, len(want))
	for _, p := range Presets {
		assert.Equal(t, want[p.Preset], p.FullScaleDBu(), p.Preset)
		box := Interface{FullScaleDBu: p.FullScaleDBu()}
		assert.Equal(t, p.DBu, box.DBu(p.DBFS))
		assert.Equal(t, p.DBFS, box.DBFS(p.DBu))
	}
}

// Constant power sqrt(1/2) = -3.0103 dB, linear 1/2 = -6.0206 dB, between them -4.5154 dB.
func TestPanGain(t *testing.T) {
	for law, db := range map[string]float64{"-3 dB": -3.0103, "-4.5 dB": -4.5154, "-6 dB": -6.0206, "0 dB": 0} {
		assert.InDelta(t, db, 20*math.Log10((&Rig{Pan: law}).PanGain()), 5e-5, law)
	}
	assert.True(t, math.IsNaN((&Rig{Pan: "wide"}).PanGain()))
}

// What the file leaves open follows from what it states; invented cases, levels by dBu = full scale + dBFS.
func TestAlignmentFollowsFromFullScale(t *testing.T) {
	cases := []struct {
		name, full, alignment string
		dbfs, dbu, fullScale  float64
		assumed               string
	}{
		{"nothing stated", "", "", -18, 4, 22, "full scale at +22 dBu"},
		{"full scale alone", "full_scale_dbu = 24", "", -20, 4, 24, "alignment -20 dBFS = 0 VU = +4 dBu"},
		{"digital level and full scale", "full_scale_dbu = 24", "dbfs = -18", -18, 6, 24, "alignment -18 dBFS = 0 VU = +6 dBu"},
		{"analogue level and full scale", "full_scale_dbu = 18", "dbu = 0", -18, 0, 18, ""},
		{"alignment alone", "", "dbfs = -20\ndbu = 4", -20, 4, 24, "full scale at +24 dBu"},
		{"preset", "", `preset = "ebu r68"`, -18, 0, 18, ""},
		{"within what makers round", "full_scale_dbu = 22.3", "dbfs = -18\ndbu = 4", -18, 4, 22.3, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r, err := Read(strings.NewReader("[[interface]]\nline_outputs = 8\n" + c.full + "\n[summing]\ninputs = 8\n[alignment]\n" + c.alignment + "\n"))
			require.NoError(t, err)
			assert.Equal(t, c.dbfs, r.Alignment.DBFS)
			assert.Equal(t, c.dbu, r.Alignment.DBu)
			assert.Equal(t, c.fullScale, r.Interfaces[0].FullScaleDBu)
			assert.Equal(t, c.dbu, r.Summing.OperatingDBu)
			assert.Contains(t, strings.Join(r.Assumed, "\n"), c.assumed)
		})
	}
}
