package sheet

import (
	"fmt"
	"strconv"
	"strings"
)

// placeOf reads the cells of pan and gain. A pan is a number from -1 (left) to 1 (right), or L, C or R, or a side with its
// percentage (L50, 30 R); a gain is in dB. Decimal commas are fine.
func placeOf(pan, gain string) (p Place, err error) {
	if pan != "" {
		v, ok := readPan(pan)
		if !ok {
			return p, fmt.Errorf("pan %q: want a number from -1 (left) to 1 (right), L, C, R, or a side with its percentage such as L50", pan)
		}
		p.Pan = &v
	}
	if gain == "" {
		return p, nil
	}
	bare := strings.TrimSpace(strings.TrimSuffix(strings.ToLower(gain), "db"))
	if p.GainDB, err = number(bare); err != nil || !(p.GainDB >= -60 && p.GainDB <= 60) {
		return p, fmt.Errorf("gain %q: want decibels from -60 to 60", gain)
	}
	return p, nil
}

func readPan(text string) (float64, bool) {
	s := strings.ToUpper(strings.TrimSpace(text))
	if s == "C" || s == "M" {
		return 0, true
	}
	for side, sign := range map[string]float64{"L": -1, "R": 1} {
		rest, before := strings.CutPrefix(s, side)
		if !before {
			var after bool
			if rest, after = strings.CutSuffix(s, side); !after {
				continue
			}
		}
		if rest = strings.Trim(rest, " %"); rest == "" {
			return sign, true
		}
		v, err := number(rest)
		return sign * v / 100, err == nil && v >= 0 && v <= 100
	}
	v, err := number(s)
	return v, err == nil && v >= -1 && v <= 1
}

// number reads a number with a decimal point or comma, and a typographic minus.
func number(text string) (float64, error) {
	return strconv.ParseFloat(strings.NewReplacer(",", ".", "\u2212", "-").Replace(text), 64)
}
