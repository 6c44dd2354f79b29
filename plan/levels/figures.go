package levels

import (
	"fmt"
	"math"
	"path/filepath"
	"sort"

	"foldout/features"
	"foldout/plan/rig"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

const (
	capDBTP    = -1.0 // highest true peak after a trim, EBU R 128
	shownShare = 0.1  // a track with less of an over is not named
)

// sineDB is how far the rms of a full-scale sine lies below full scale: 20 log10(1/sqrt 2).
var sineDB = 10 * math.Log10(0.5)

// figures turns what was measured of a pair into its levels.
func (l *lane) figures(r *rig.Rig, s *stems.Session) (Pair, error) {
	full := l.box.FullScaleDBu
	m := l.mix
	p := Pair{
		Number: m.Number, Name: m.Name, Tracks: len(m.Tracks), Interface: l.patch.Interface, FullScaleDBu: full,
		Outputs:       [2]int{l.patch.Lines[0].Output, l.patch.Lines[1].Output},
		SummingInputs: [2]int{l.patch.Lines[0].SummingInput, l.patch.Lines[1].SummingInput},
		Sum:           l.meter.result(full - r.Alignment.DBu + r.Alignment.VU),
		Overs:         []Over{}, OverCount: l.overs.Stretches, OverS: float64(l.overs.Frames) / float64(s.RateHz), Offenders: []Offender{},
	}
	for _, b := range l.patch.Buses {
		p.Buses = append(p.Buses, b.Name)
	}
	peak := float64(p.TruePeakDBTP)
	p.Input = Input{
		RMSDBu:   features.DB(l.box.DBu(float64(p.RMSDBFS) - sineDB)),
		VUMaxDBu: p.VUMax + features.DB(r.Alignment.DBu-r.Alignment.VU),
		PeakDBu:  features.DB(l.box.DBu(peak)),
	}
	p.HeadroomConverterDB = features.DB(-peak)
	p.HeadroomUnitDB = features.DB(r.Summing.MaxInputDBu) - p.Input.PeakDBu
	p.Trim = trim(l.box.DBu(l.meter.loud()), peak, full, r.Summing)
	if err := m.Blame(l.overs.List); err != nil {
		return p, err
	}
	for _, o := range l.overs.List {
		p.Overs = append(p.Overs, l.over(o, r, s.RateHz))
	}
	p.Offenders = offenders(p.Overs)
	return p, nil
}

// trim applies the rule of Trim. loud is the level of loud passages in dBu, peak the true peak in dBTP.
func trim(loud, peak, fullScaleDBu float64, unit rig.Summing) Trim {
	if math.IsInf(loud, -1) {
		return Trim{WantsDB: features.DB(math.Inf(-1)), Limit: "silent"}
	}
	t := Trim{GainDB: unit.OperatingDBu - loud, Limit: "operating level"}
	t.WantsDB = features.DB(t.GainDB)
	if most := capDBTP - peak; most < t.GainDB {
		t.GainDB, t.Limit = most, "true peak"
	}
	if most := unit.MaxInputDBu - fullScaleDBu - peak; most < t.GainDB {
		t.GainDB, t.Limit = most, "unit input"
	}
	t.GainDB = math.Floor(t.GainDB*100+0.5) / 100 // no trim is set finer
	return t
}

// common is the gain for all pairs alike: the least of their trims, which keeps the balance between them.
func common(pairs []Pair) Trim {
	c := Trim{WantsDB: features.DB(math.Inf(-1)), Limit: "silent"}
	for _, p := range pairs {
		if p.Trim.Limit == "silent" {
			continue
		}
		if c.Pair == 0 || p.Trim.GainDB < c.GainDB {
			c = p.Trim
			c.Pair = p.Number
		}
	}
	return c
}

func (l *lane) over(o stems.Over, r *rig.Rig, rateHz int) Over {
	dbfs := 20 * math.Log10(o.Peak)
	out := Over{
		TimeS: float64(o.Frame) / float64(rateHz), Side: [2]string{"L", "R"}[o.Side],
		PeakDBFS: features.DB(dbfs), PeakDBu: features.DB(l.box.DBu(dbfs)), Tracks: []Offender{},
		Stretches: o.Stretches, BeyondS: float64(o.Frames) / float64(rateHz),
	}
	converter, unit := o.Peak > 1, l.box.DBu(dbfs) > r.Summing.MaxInputDBu
	switch {
	case converter && unit:
		out.Clips = "converter and unit"
	case converter:
		out.Clips = "converter"
	default:
		out.Clips = "unit"
	}
	for _, c := range o.Causes {
		if c.Share >= shownShare {
			out.Tracks = append(out.Tracks, Offender{File: c.File, Share: c.Share, Overs: 1})
		}
	}
	return out
}

// offenders adds up the shares of all overs by track; the worst first.
func offenders(overs []Over) []Offender {
	list := []Offender{}
	at := map[string]int{}
	for _, o := range overs {
		for _, t := range o.Tracks {
			k, ok := at[t.File]
			if !ok {
				k = len(list)
				at[t.File] = k
				list = append(list, Offender{File: t.File})
			}
			list[k].Share += t.Share / float64(len(overs))
			list[k].Overs++
		}
	}
	sort.SliceStable(list, func(a, b int) bool { return list[a].Share > list[b].Share })
	return list
}

// remarks says in words what the figures mean for the session.
func (l *Levels) remarks(sheet *sheet.Sheet) (notes []string) {
	for _, p := range l.Pairs {
		at := fmt.Sprintf("pair %d (%s)", p.Number, p.Name)
		switch {
		case p.Trim.Limit == "silent":
			notes = append(notes, at+" is silent")
			continue
		case p.Trim.Limit == "true peak":
			notes = append(notes, fmt.Sprintf("%s: peaks stand in the way of the operating level: loud passages want %+.1f dB, the true peak allows %+.1f dB", at, float64(p.Trim.WantsDB), p.Trim.GainDB))
		case p.Trim.Limit == "unit input":
			notes = append(notes, fmt.Sprintf("%s: the unit's maximum input stands in the way of the operating level: loud passages want %+.1f dB, the input allows %+.1f dB", at, float64(p.Trim.WantsDB), p.Trim.GainDB))
		}
		if p.Correlation < 0 {
			notes = append(notes, fmt.Sprintf("%s: left and right pull against each other (correlation %.2f); look for a track with inverted polarity", at, p.Correlation))
		}
	}
	for n, p := range sheet.Pairs {
		if len(p.Tracks) == 0 {
			notes = append(notes, fmt.Sprintf("pair %d (%s) is free", n+1, p.Name))
		}
	}
	if len(sheet.SetAside) > 0 {
		names := ""
		for i, a := range sheet.SetAside {
			if i > 0 {
				names += ", "
			}
			names += filepath.Base(a.File)
		}
		notes = append(notes, "set aside, on no pair and in no sum: "+names)
	}
	return notes
}
