package report

import (
	"fmt"
	"math"

	"foldout/features"
	"foldout/plan/levels"
	"foldout/plan/patch"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// The material of the tests is invented.

var kinds = []struct {
	name, bus, role string
	centroid, crest float64
	middle          float64 // strongest octave band
}{
	{"Drums", "Drums", "snare", 900, 19, 2.5}, {"Guitars", "Electric guitars", "electric guitar", 1500, 11, 5}, {"Keys and horns", "Keys", "piano", 700, 14, 4.5},
	{"Vocals", "Lead vocals", "lead vocal", 1100, 15, 5.2}, {"Bass", "Bass", "bass", 150, 12, 2}, {"Percussion", "Percussion", "percussion", 8000, 23, 8},
	{"Strings", "Strings", "strings", 1300, 9, 5.5}, {"Backing vocals", "Backing vocals", "backing vocal", 1250, 14, 5.4},
}

// invented makes a sheet of so many tracks on so many pairs.
func invented(tracks, pairs int) *sheet.Sheet {
	s := &sheet.Sheet{Schema: sheet.SchemaVersion, Title: "Paper Boats", Folder: "/songs/Paper Boats", Settings: sheet.Settings{Pairs: pairs, Seed: 1, Version: "0.1.0"},
		SetAside: []sheet.SetAside{{File: "Spare.wav", Reason: "silent: nothing rises above the noise floor"}},
		Warnings: []string{"look at these yourself, their place is a near thing: Track 004 Vocals"}}
	s.Figures.PairsUsed = pairs
	for p := range pairs {
		kind := kinds[p%len(kinds)]
		s.Pairs = append(s.Pairs, sheet.Pair{Name: pairName(p), Outputs: [2]int{2*p + 1, 2*p + 2}, Buses: []string{kind.bus},
			Reason: fmt.Sprintf("%s (%d); centroids 451 Hz to 1.63 kHz (middle 898 Hz), crest factor around 14 dB", kind.bus, tracks/pairs)})
	}
	for t := range tracks {
		p := t % pairs
		kind := kinds[p%len(kinds)]
		m := sheet.Measured{Channels: 1, DurationS: 200, IntegratedLUFS: -22, TruePeakDBTP: -6, ActiveRMSDBFS: features.DB(-20 - t%7), ActiveShare: 0.8,
			CrestDB: features.DB(kind.crest + 3*math.Sin(float64(t))), CentroidHz: features.Positive(kind.centroid * math.Exp2(0.6*math.Sin(2.3*float64(t))))}
		for b := range m.OctaveDB {
			m.OctaveDB[b] = features.DB(-4 - 2.2*math.Pow(float64(b)-kind.middle-0.5*math.Sin(float64(t)), 2))
		}
		confidence := 1.0
		if t%9 == 4 {
			confidence = 0.61
		}
		s.Pairs[p].Tracks = append(s.Pairs[p].Tracks, sheet.Placement{
			File: fmt.Sprintf("%s.wav", inventedName(t, kind.role)), Role: kind.role, Bus: kind.bus, Confidence: confidence, RunnerUp: pairName((p + 1) % pairs), Measured: m,
			Reasons: []sheet.Reason{
				{Fact: fmt.Sprintf("named and heard as a %s (%d %%), mark %s", kind.role, 50+t%50, mark(t)), Measure: "heard", Value: 64, Unit: "%"},
				{Fact: "centroid 1.48 kHz", Comparison: &sheet.Comparison{Nearer: pairName(p), NearerValue: 1530, Farther: pairName((p + 1) % pairs), FartherValue: 898}, Measure: "centroid", Value: 1480, Unit: "Hz"},
				{Fact: "onset rate 2.9 /s", Comparison: &sheet.Comparison{Nearer: pairName(p), NearerValue: 2.8, Farther: pairName((p + 1) % pairs), FartherValue: 1.2}, Measure: "onset rate", Value: 2.9, Unit: "/s"},
			},
		})
	}
	return s
}

func pairName(p int) string {
	name := kinds[p%len(kinds)].name
	if turn := p / len(kinds); turn > 0 {
		return fmt.Sprintf("%s %d", name, turn+1)
	}
	return name
}

func inventedName(t int, role string) string { return fmt.Sprintf("Track %03d %s", t+1, role) }

// mark is a word that stands in the strip of one track and nowhere else.
func mark(t int) string { return fmt.Sprintf("q%03dz", t) }

// whole is a page with every part that belongs to a sheet.
func whole(s *sheet.Sheet) (Page, error) {
	p, err := patch.Make(s, rig.Plain(len(s.Pairs)))
	if err != nil {
		return Page{}, err
	}
	l := &levels.Levels{Schema: levels.SchemaVersion, Title: s.Title, Rig: "plain rig", Unit: "Summing unit", Alignment: rig.DefaultAlignment, OperatingDBu: 4, MaxInputDBu: 24, Pan: "-3 dB", RateHz: 48000,
		DurationS: 200, Common: levels.Trim{GainDB: -9, Limit: "operating level", Pair: 1}, Notes: []string{"no rig was given"}}
	sweep := &sheet.Sweep{Title: s.Title, Tracks: 24, Recommend: 4, Groups: 5, GroupsOK: true,
		Advice: "4 pairs are enough for this session. With them 84 % of the difference between tracks lies between pairs, 16 % is left within; one more takes away only 1.6 % more."}
	for n, pair := range s.Pairs {
		peak := -2.1 - float64(n)
		if n == 0 {
			peak = 2.1
		}
		v := levels.Pair{Number: n + 1, Name: pair.Name, Tracks: len(pair.Tracks), Interface: "Interface", Outputs: pair.Outputs, SummingInputs: pair.Outputs, FullScaleDBu: 22}
		v.TruePeakDBTP, v.IntegratedLUFS, v.VULoud, v.VUMax = features.DB(peak), -18, features.DB(9-n), features.DB(11-n)
		v.Input = levels.Input{RMSDBu: features.DB(8 - n), VUMaxDBu: features.DB(15 - n), PeakDBu: features.DB(22 + peak)}
		v.HeadroomConverterDB, v.HeadroomUnitDB = features.DB(-peak), features.DB(2-peak)
		v.Trim = levels.Trim{GainDB: float64(n) - 9, WantsDB: features.DB(n - 9), Limit: "operating level"}
		if n == 0 {
			v.OverCount, v.Offenders = 17, []levels.Offender{{File: pair.Tracks[0].File, Share: 0.26, Overs: 17}}
		}
		l.Pairs = append(l.Pairs, v)
	}
	for k := 1; k <= 8; k++ {
		sweep.Points = append(sweep.Points, sheet.SweepPoint{Pairs: k, Used: k, Names: []string{"Drums"}, SpreadPC: 1 / float64(k*k), Buys: "Drums and percussion -> Drums, Percussion",
			Figures: sheet.Figures{PairsUsed: k, LoudestPairDB: features.DB(-k), OverlapAcross: 0.1 * float64(k)}})
	}
	return Page{Sheet: s, Patch: p, Levels: l, Sweep: sweep}, nil
}

// judged is an invented judgement of a manual sheet.
func judged() *sheet.Judgement {
	return &sheet.Judgement{Title: "Paper Boats", Sheet: "by-hand.csv",
		Pairs: []sheet.PairVerdict{
			{Name: "Drums", Tracks: 9, Holds: "8 drums, 1 lead vocals", Verdict: "fine", Text: "sound but for 1 track"},
			{Name: "Guitars", Tracks: 4, Holds: "4 electric guitars", Verdict: "fine", Text: "everything on it belongs together"},
			{Name: "Pair 3", Verdict: "idle", Text: "no track uses these two outputs"},
		},
		Misfits: []sheet.Misfit{{File: "Lead Vox.wav", On: 1, OnName: "Drums", Suggested: 2, SuggestedName: "Guitars", Certainty: 0.97, Role: "lead vocal", Reasons: []sheet.Reason{
			{Fact: "named and heard as a lead vocal", Detail: "74 %", Measure: "heard"}, {Fact: "centroid 1.10 kHz", Measure: "centroid", Unit: "Hz", Comparison: &sheet.Comparison{Nearer: "pair 2", NearerValue: 1400, Farther: "pair 1", FartherValue: 200}}}}},
		Doubtful: []sheet.Misfit{{File: "Acoustic.wav", On: 2, OnName: "Guitars", Suggested: 1, SuggestedName: "Drums", Certainty: 0.31, Reasons: []sheet.Reason{{Fact: "sounds a little like a piano", Measure: "heard"}}}},
		Parted:   []sheet.Parted{{File: "Bass Amp.wav", On: 2, Source: "Bass DI.wav", Home: 1, Text: "a processed copy of Bass DI, which is on pair 1"}},
		Praise:   []string{"pair 2 (Guitars) is right as it is"}, Missing: []string{"Shaker.wav"}, Unknown: []string{"Ghost.wav"},
		SetAside: []sheet.SetAside{{File: "Spare.wav", Reason: "silent"}}, Notes: []string{"the table had no header for buses"},
	}
}
