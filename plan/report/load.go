package report

import (
	"fmt"
	"math"
	"strings"

	"foldout/plan/levels"
	"foldout/plan/stems"
)

// Ends of the level bars: how far they reach below the operating level and above the highest limit, in decibels.
const (
	belowDB    = 36.0
	aboveDB    = 3.0
	tickDB     = 6.0
	tickRoomDB = 4.0 // between the left end and the first tick: half of its label on the narrowest bar
)

// levelsView shows what every pair sends, on one axis in dBu at the summing inputs.
type levelsView struct {
	Unit, Rig   string
	Alignment   string
	Operating   float64 // dBu
	OperatingAt float64 // 0..100
	Ticks       []tick
	Loads       []loadView
	Total       *loadView
	Common      string
	Overs       []string
	Notes       []string
}

// loadView is one pair's level. Places are in percent of the bar.
type loadView struct {
	badge
	Silent                          bool
	LoudAt, PeakAt, LimitAt, BeyoAt float64
	LoudVU, PeakDBTP, LUFS          string
	Converter, Headroom             string
	Trim, Limit                     string
	Over                            bool
	Clips                           string // what clips before the trim
	Words                           string
}

func levelsOf(l *levels.Levels) *levelsView {
	v := &levelsView{Unit: plain(l.Unit), Rig: plain(l.Rig), Alignment: strings.ReplaceAll(l.Alignment.String(), "-", minus), Operating: l.OperatingDBu}
	highest := v.Operating
	for _, p := range l.Pairs {
		highest = math.Max(highest, limit(l, &p))
		if peak := float64(p.Input.PeakDBu); !math.IsNaN(peak) && !math.IsInf(peak, 0) {
			highest = math.Max(highest, peak)
		}
	}
	from, to := v.Operating-belowDB, highest+aboveDB
	at := func(dbu float64) float64 {
		if math.IsNaN(dbu) {
			return 0
		}
		return 100 * math.Max(0, math.Min(1, (dbu-from)/(to-from)))
	}
	v.OperatingAt = at(v.Operating)
	for t := tickDB * math.Ceil((from+tickRoomDB)/tickDB); t < to-tickDB/3; t += tickDB {
		v.Ticks = append(v.Ticks, tick{at(t), signedPlain(t)})
	}
	for i := range l.Pairs {
		p := &l.Pairs[i]
		w := loadView{badge: badgeOf(p.Number, p.Name), LoudAt: at(loudDBu(l, p)), PeakAt: at(float64(p.Input.PeakDBu)), LimitAt: at(limit(l, p)),
			LoudVU: signedDecibels(p.VULoud), PeakDBTP: signedDecibels(p.TruePeakDBTP), LUFS: decibels(p.IntegratedLUFS),
			Converter: signedDecibels(p.HeadroomConverterDB), Headroom: signedDecibels(p.HeadroomUnitDB),
			Trim: signedDecibels(p.Trim.GainDB), Limit: limitWords(p.Trim.Limit), Silent: p.Trim.Limit == "silent",
			Over: float64(p.HeadroomConverterDB) < 0 || float64(p.HeadroomUnitDB) < 0}
		w.BeyoAt, w.Clips = 100-w.LimitAt, clips(p)
		if w.Silent {
			w.Trim, w.Words = "–", "silent"
		} else {
			w.Words = fmt.Sprintf("loud passages at %s dBu, peaks at %s dBu, clips from %s dBu", signedDecibels(loudDBu(l, p)), signedDecibels(p.Input.PeakDBu), signedDecibels(limit(l, p)))
		}
		v.Loads = append(v.Loads, w)
		if p.OverCount > 0 {
			text := fmt.Sprintf("pair %d (%s) goes beyond the limit in %s", p.Number, plain(p.Name), stems.OverWords(p.OverCount, p.OverS))
			if len(p.Offenders) > 0 {
				text += ", most of it from " + shortName(p.Offenders[0].File) + " (" + percent(p.Offenders[0].Share) + ")"
			}
			v.Overs = append(v.Overs, typeset(text))
		}
	}
	if l.Common.Pair > 0 && !l.Differ() { // else a note says what each interface wants
		v.Common = typeset(fmt.Sprintf("Trims of single pairs change the balance of the mix. To keep it, move all pairs by %s dB, which pair %d sets.", signedDecibels(l.Common.GainDB), l.Common.Pair))
	}
	for _, n := range l.Notes {
		v.Notes = append(v.Notes, typeset(plain(n)))
	}
	return v
}

// loudDBu is the level of loud passages at the summing input.
func loudDBu(l *levels.Levels, p *levels.Pair) float64 {
	return float64(p.VULoud) + l.Alignment.DBu - l.Alignment.VU
}

// limit is the lower of converter and unit clip, in dBu at the summing input.
func limit(l *levels.Levels, p *levels.Pair) float64 { return math.Min(p.FullScaleDBu, l.MaxInputDBu) }

// clips says what the pair drives beyond its limit before any trim, "" for nothing.
func clips(p *levels.Pair) string {
	converter, unit := float64(p.HeadroomConverterDB) < 0, float64(p.HeadroomUnitDB) < 0
	switch {
	case converter && unit:
		return "converter and unit input clip"
	case converter:
		return "the converter clips"
	case unit:
		return "the unit input clips"
	}
	return ""
}

// limitWords says what set a trim.
func limitWords(limit string) string {
	switch limit {
	case "operating level":
		return "reaches 0 VU"
	case "true peak":
		return "held by its peaks"
	case "unit input":
		return "held by the unit’s input"
	}
	return limit
}

func signedPlain(v float64) string {
	switch {
	case v > 0:
		return fmt.Sprintf("+%g", v)
	case v < 0:
		return fmt.Sprintf("%s%g", minus, -v)
	}
	return "0"
}
