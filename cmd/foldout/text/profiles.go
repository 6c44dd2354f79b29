package text

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"foldout/features"
	"foldout/features/csvsafe"
	"foldout/plan/sheet"
)

// notableDC is the offset, a share of full scale, from which it is worth a word: -60 dB (chosen).
const notableDC = 0.001

// Faults says in plain words what is wrong with a track.
func Faults(p *features.Profile) []string {
	list := slices.Clone(p.Notes)
	switch {
	case p.NonFinite == 1:
		list = append(list, "1 value is no number; it counts as silence")
	case p.NonFinite > 1:
		list = append(list, fmt.Sprintf("%d values are no numbers; they count as silence", p.NonFinite))
	}
	if p.Wild > 0 {
		list = append(list, sheet.Plural(int(p.Wild), "sample lies", "samples lie")+" more than 400 dB above full scale, taken as full scale")
	}
	if p.ClippedRuns > 0 {
		list = append(list, fmt.Sprintf("clipped: %s of samples at full scale", count(p.ClippedRuns, "run")))
	}
	if math.Abs(p.DCOffset) >= notableDC && p.DurationS >= 1 { // the mean of less is no offset
		list = append(list, fmt.Sprintf("DC offset of %.2f %% of full scale", 100*p.DCOffset))
	}
	if p.DualMono {
		list = append(list, "both channels are the same: a mono track in a stereo file")
	}
	return list
}

// profileColumns are the columns of the table and of the CSV: a heading for people, one for machines, the value.
var profileColumns = []struct {
	heading, unit, key string
	value              func(p *features.Profile) float64
	format             string
}{
	{"length", "s", "duration_s", func(p *features.Profile) float64 { return p.DurationS }, "%.1f"},
	{"loudness", "LUFS", "integrated_lufs", func(p *features.Profile) float64 { return float64(p.IntegratedLUFS) }, "%.1f"},
	{"range", "LU", "loudness_range_lu", func(p *features.Profile) float64 { return float64(p.LoudnessRangeLU) }, "%.1f"},
	{"true peak", "dBTP", "true_peak_dbtp", func(p *features.Profile) float64 { return float64(p.TruePeakDBTP) }, "%.1f"},
	{"crest", "dB", "crest_db", func(p *features.Profile) float64 { return float64(p.CrestDB) }, "%.1f"},
	{"centroid", "Hz", "centroid_hz", func(p *features.Profile) float64 { return p.CentroidHz.OrInf() }, "%.0f"},
	{"onsets", "/s", "onset_rate_hz", func(p *features.Profile) float64 { return p.OnsetRateHz }, "%.1f"},
	{"tonality", "", "tonality", func(p *features.Profile) float64 { return p.Tonality }, "%.2f"},
	{"active", "%", "active_share", func(p *features.Profile) float64 { return p.ActiveShare }, "%.0f"},
}

// Profiles writes a selection of what was measured, one line per track.
func Profiles(w io.Writer, tracks []*features.Analysis) error {
	p := newPrinter(w)
	rows := [][]string{{"track", "ch", "kHz"}, {"", "", ""}}
	for _, c := range profileColumns {
		rows[0], rows[1] = append(rows[0], c.heading), append(rows[1], c.unit)
	}
	for _, a := range tracks {
		row := []string{sheet.Printable(a.Profile.File), strconv.Itoa(a.Profile.Channels), strconv.FormatFloat(float64(a.Profile.SampleRateHz)/1000, 'f', -1, 64)}
		for _, c := range profileColumns {
			cell := "-" // silence has no level
			if v := c.value(&a.Profile); !math.IsInf(v, 0) {
				if c.unit == "%" {
					v *= 100
				}
				cell = fmt.Sprintf(c.format, v)
			}
			row = append(row, cell)
		}
		rows = append(rows, row)
	}
	p.blocks(rows)
	return p.err
}

// ProfilesCSV writes one row per track.
func ProfilesCSV(w io.Writer, tracks []*features.Analysis) error {
	head := []string{"file", "sample_rate_hz", "channels", "bit_depth", "sample_peak_dbfs", "rms_dbfs"}
	for _, col := range profileColumns {
		head = append(head, col.key)
	}
	rows := [][]string{head}
	number := func(v float64) string {
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return ""
		}
		return strconv.FormatFloat(v, 'f', 4, 64)
	}
	for _, a := range tracks {
		p := &a.Profile
		row := []string{p.File, strconv.Itoa(p.SampleRateHz), strconv.Itoa(p.Channels), strconv.Itoa(p.BitDepth), number(float64(p.SamplePeakDBFS)), number(float64(p.RMSDBFS))}
		for _, col := range profileColumns {
			row = append(row, number(col.value(p)))
		}
		rows = append(rows, row)
	}
	return csvsafe.Write(w, rows)
}
