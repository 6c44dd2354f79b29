package rig

import (
	"fmt"
	"math"
)

// Alignment ties digital level to analogue level: a sine at DBFS leaves the interface at DBu, and the VU meter then
// reads VU.
type Alignment struct {
	Preset string  `json:"preset"` // name of the practice it follows, "" for one's own
	DBFS   float64 `json:"dbfs"`
	DBu    float64 `json:"dbu"`
	VU     float64 `json:"vu"`
}

// DefaultAlignment is common practice, no standard: full scale at +22 dBu.
var DefaultAlignment = Alignment{DBFS: -18, DBu: 4}

// Presets are the named alignments. EBU R 68-2000 puts the alignment tone 18 dB below full scale, in common European
// practice at 0 dBu; SMPTE RP 155:2004 puts it 20 dB below, in practice at +4 dBu.
var Presets = []Alignment{
	{Preset: "-18 dBFS = +4 dBu", DBFS: -18, DBu: 4},
	{Preset: "EBU R 68", DBFS: -18, DBu: 0},
	{Preset: "SMPTE RP 155", DBFS: -20, DBu: 4},
}

// FullScaleDBu is the analogue level of a full-scale sine that the alignment implies.
func (a Alignment) FullScaleDBu() float64 { return a.DBu - a.DBFS }

// String writes the alignment as engineers do: "-18 dBFS = 0 VU = +4 dBu".
func (a Alignment) String() string {
	return fmt.Sprintf("%s dBFS = %s VU = %s dBu", Signed(a.DBFS), Signed(a.VU), Signed(a.DBu))
}

// DBu returns the level at the interface's output in dBu for a digital level in dBFS; -Inf stays -Inf.
func (i Interface) DBu(dbfs float64) float64 { return i.FullScaleDBu + dbfs }

// DBFS returns the digital level that leaves the interface at a level in dBu.
func (i Interface) DBFS(dbu float64) float64 { return dbu - i.FullScaleDBu }

// Volts returns the rms voltage of a level in dBu: sqrt(0.6) V at 0 dBu.
func Volts(dbu float64) float64 { return math.Sqrt(0.6) * math.Pow(10, dbu/20) }

// Signed writes a level with its sign and without needless digits: +4, -18, 0, +22.5.
func Signed(v float64) string {
	v = math.Round(v*100) / 100
	if v == 0 {
		return "0"
	}
	return fmt.Sprintf("%+.4g", v)
}
