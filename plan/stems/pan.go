package stems

import (
	"fmt"
	"math"

	"foldout/plan/sheet"
)

// Bounds of what a sheet may ask for.
const mostGainDB = 60

// place takes the pan and the gain that a sheet gives a track. A pan is for mono tracks and goes before the side that
// their name claims, and the centre is where the sides of others are anyway; a gain is for any.
func (s *Session) place(t *Track, p *sheet.Placement) error {
	if p.Pan == nil && p.GainDB == 0 {
		return nil
	}
	if math.IsNaN(p.GainDB) || math.Abs(p.GainDB) > mostGainDB {
		return fmt.Errorf("%s: a gain of %v dB on the sheet; want -%d to %d", t.File, p.GainDB, mostGainDB, mostGainDB)
	}
	gain := math.Pow(10, p.GainDB/20)
	switch {
	case t.Info.Channels != 1 && p.Pan != nil && *p.Pan != 0:
		return fmt.Errorf("%s: the sheet gives it a pan, but it is no mono track; take the pan off, its sides stay as they are", t.File)
	case t.Info.Channels != 1:
		t.level = &[2]float64{gain, gain}
		return nil
	case p.Pan != nil && !(*p.Pan >= -1 && *p.Pan <= 1):
		return fmt.Errorf("%s: a pan of %v on the sheet; want -1 (left) to 1 (right)", t.File, *p.Pan)
	}
	at := 0.0
	if p.Pan != nil {
		at = *p.Pan
		t.half = sheet.Half{}
	}
	sides := PanSides(at, s.PanGain)
	t.Pan, t.level = Panned, &[2]float64{gain * sides[0], gain * sides[1]}
	return nil
}

// PanSides are the levels on the left and right of a mono track at a pan from -1 (left) to 1 (right); centre is that of both at
// 0. At -3 dB it is the sine and cosine law, whose power is the same everywhere (Rumsey, Spatial Audio, 2001, chapter on
// two-channel stereo; from memory). Other laws are a power of it, so that the centre is theirs and the sides reach 1: at
// -6 dB the two add up to 1 everywhere. At 0 dB the nearer side stays at 1 and the farther one follows the cosine.
func PanSides(pan, centre float64) [2]float64 {
	if centre >= 1 {
		return [2]float64{math.Cos(math.Max(0, pan) * math.Pi / 2), math.Cos(math.Max(0, -pan) * math.Pi / 2)}
	}
	angle := (pan + 1) * math.Pi / 4
	power := math.Log(centre) / math.Log(math.Sqrt(0.5))
	side := func(v float64) float64 { return math.Pow(math.Max(0, v), power) }
	switch pan { // to the last bit
	case -1:
		return [2]float64{1, 0}
	case 0:
		return [2]float64{centre, centre}
	case 1:
		return [2]float64{0, 1}
	}
	return [2]float64{side(math.Cos(angle)), side(math.Sin(angle))}
}
