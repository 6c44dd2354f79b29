package sheet

import (
	"fmt"
	"math"
	"strings"
)

// Plural writes a count with its noun: 1 track, 2 tracks.
func Plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Hertz writes a frequency with three significant figures: 82 Hz, 1.52 kHz.
func Hertz(f float64) string {
	switch {
	case f < 999.5:
		return fmt.Sprintf("%.0f Hz", f)
	case f < 9995:
		return fmt.Sprintf("%.2f kHz", f/1000)
	}
	return fmt.Sprintf("%.1f kHz", f/1000)
}

// WithUnit writes a value of a measure as people read it, by its unit: "Hz", "%", "dB", "/s" or "" for a pure number.
func WithUnit(v float64, unit string) string {
	switch unit {
	case "Hz":
		return Hertz(v)
	case "%":
		return fmt.Sprintf("%.0f %%", v)
	case "":
		return fmt.Sprintf("%.2f", v)
	}
	return fmt.Sprintf("%.1f %s", v, unit)
}

// Round rounds to a number of decimal places, as figures are saved.
func Round(v float64, places int) float64 {
	f := math.Pow10(places)
	return math.Round(v*f) / f
}

// TrackName is the file's name without folder and extension, as an engineer says it.
func TrackName(file string) string {
	base := file[strings.LastIndexByte(file, '/')+1:]
	if dot := strings.LastIndexByte(base, '.'); dot > 0 {
		base = base[:dot]
	}
	return base
}
