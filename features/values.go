package features

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"

	"foldout/features/spectrum"
)

// DB is a level or a level difference in decibels (or LUFS, LU). What JSON cannot hold, minus infinity for silence
// and NaN for a figure that does not exist, is written as null; null reads as minus infinity.
type DB float64

// MarshalJSON writes the number, or null.
func (d DB) MarshalJSON() ([]byte, error) {
	if math.IsInf(float64(d), 0) || math.IsNaN(float64(d)) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(d))
}

// UnmarshalJSON reads a number, or null as minus infinity.
func (d *DB) UnmarshalJSON(text []byte) error {
	if string(text) == "null" {
		*d = DB(math.Inf(-1))
		return nil
	}
	var v float64
	if err := json.Unmarshal(text, &v); err != nil {
		return fmt.Errorf("level %s: %w", text, err)
	}
	*d = DB(v)
	return nil
}

// Positive is a frequency or a time that is above 0 where there is one; 0 stands for none and is null in JSON.
type Positive float64

// MarshalJSON writes the number, or null for 0 and what JSON cannot hold.
func (p Positive) MarshalJSON() ([]byte, error) {
	if p == 0 {
		return []byte("null"), nil
	}
	return DB(p).MarshalJSON()
}

// UnmarshalJSON reads a number, or null as 0.
func (p *Positive) UnmarshalJSON(text []byte) error {
	var v *float64
	if err := json.Unmarshal(text, &v); err != nil {
		return fmt.Errorf("%s is no number: %w", text, err)
	}
	*p = 0
	if v != nil {
		*p = Positive(*v)
	}
	return nil
}

// OrInf returns the figure, or minus infinity for none, as levels have it.
func (p Positive) OrInf() float64 {
	if p <= 0 {
		return math.Inf(-1)
	}
	return float64(p)
}

// Bands are the levels of the ten octave bands 31.5 Hz to 16 kHz (spectrum.OctaveNominalHz) in decibels. In JSON
// they are an object with the nominal frequencies as keys, "31.5" to "16000", from low to high.
type Bands [10]DB

// BandNames holds the JSON keys of Bands.
var BandNames = [10]string{"31.5", "63", "125", "250", "500", "1000", "2000", "4000", "8000", "16000"}

// MarshalJSON writes an object with one key per band.
func (b Bands) MarshalJSON() ([]byte, error) { return marshalOrdered(BandNames[:], b[:]) }

// UnmarshalJSON reads an object with exactly the keys of BandNames.
func (b *Bands) UnmarshalJSON(text []byte) error { return unmarshalNamed(text, BandNames[:], b[:]) }

// Shares are the shares (0..1) of the power in the seven registers of spectrum.RegisterNames; 0 each for silence, else
// adding up to 1. In JSON they are an object with the names as keys, from low to high.
type Shares [7]float64

// MarshalJSON writes an object with one key per register.
func (s Shares) MarshalJSON() ([]byte, error) {
	return marshalOrdered(spectrum.RegisterNames[:], s[:])
}

// UnmarshalJSON reads an object with exactly the keys of spectrum.RegisterNames.
func (s *Shares) UnmarshalJSON(text []byte) error {
	return unmarshalNamed(text, spectrum.RegisterNames[:], s[:])
}

func marshalOrdered[T any](names []string, values []T) ([]byte, error) {
	var out bytes.Buffer
	for i, v := range values {
		out.WriteByte("{,"[min(i, 1)])
		text, err := json.Marshal(v)
		if err != nil {
			return nil, err
		}
		fmt.Fprintf(&out, "%q:%s", names[i], text)
	}
	out.WriteByte('}')
	return out.Bytes(), nil
}

func unmarshalNamed[T any](text []byte, names []string, values []T) error {
	var object map[string]json.RawMessage
	if err := json.Unmarshal(text, &object); err != nil {
		return err
	}
	if len(object) != len(names) {
		return fmt.Errorf("found %d bands, want the %d from %q to %q", len(object), len(names), names[0], names[len(names)-1])
	}
	for i, name := range names {
		raw, ok := object[name]
		if !ok {
			return fmt.Errorf("band %q is missing", name)
		}
		if err := json.Unmarshal(raw, &values[i]); err != nil {
			return fmt.Errorf("band %q: %w", name, err)
		}
	}
	return nil
}
