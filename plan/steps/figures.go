package steps

import (
	"fmt"
	"math"

	"foldout/features"
	"foldout/plan/patch"
	"foldout/plan/rig"
)

// Pair is one pair of the sheet at the rig's real outputs.
type Pair struct {
	Number        int       `json:"pair"`
	Name          string    `json:"name"`
	Path          string    `json:"path"` // what to call its output: "P1 Rhythm"
	Free          bool      `json:"free"` // no track is on it
	Buses         []Bus     `json:"buses"`
	Interface     string    `json:"interface"`
	Outputs       [2]int    `json:"outputs"`
	From          [2]string `json:"from"` // plugs of the interface, left and right
	SummingInputs [2]int    `json:"summing_inputs"`
	To            [2]string `json:"to"`    // plugs of the unit
	Label         [2]string `json:"label"` // for both ends of the cables
	Meter         *Meter    `json:"meter"` // null: nothing to measure
}

// Bus is one bus of a pair.
type Bus struct {
	Name   string   `json:"name"`
	Tracks []string `json:"tracks"` // files, as on the sheet
}

// Meter is what the meters of a pair show. Loud passages and VU are those of package levels.
type Meter struct {
	AsExported   Reading     `json:"as_exported"`
	BalanceDB    float64     `json:"balance_trim_db"` // trim of this pair that keeps the balance of the mix, see Balance
	Balanced     Reading     `json:"with_balance_trim"`
	OwnDB        float64     `json:"own_trim_db"` // that brings this pair alone to the operating level
	OwnLimit     string      `json:"own_trim_limit"`
	OverCount    int         `json:"over_count"` // as exported, beyond full scale or the unit's maximum input
	HeadroomDB   features.DB `json:"headroom_db"`
	FullScaleDBu float64     `json:"full_scale_dbu"`
}

// Reading is what meters show. Figures are null for silence.
type Reading struct {
	VULoud       features.DB `json:"vu_loud"`        // in loud passages
	VUMax        features.DB `json:"vu_max"`         // the farthest swing
	DBFSLoud     features.DB `json:"dbfs_loud"`      // of the same passages at the output: the level of a sine that reads as much
	TruePeakDBTP features.DB `json:"true_peak_dbtp"` // at the output
}

func (r Reading) up(gain float64) Reading {
	g := features.DB(gain)
	return Reading{r.VULoud + g, r.VUMax + g, r.DBFSLoud + g, r.TruePeakDBTP + g}
}

// Return is where the sum comes back and what its meter should show while the unit neither lifts nor lowers it.
type Return struct {
	Stated     bool        `json:"stated"` // by the rig
	Interface  string      `json:"interface"`
	Inputs     [2]int      `json:"inputs"`
	From       [2]string   `json:"from"` // plugs of the unit
	To         [2]string   `json:"to"`   // plugs of the interface
	PrintTrack string      `json:"print_track"`
	Reading    *Reading    `json:"reading"` // at unity gain, with the balance trims; null without levels
	LimitedBy  int         `json:"limited_by"`
	SpareDB    features.DB `json:"spare_db"` // from its true peak to -1 dBTP
}

const ceilingDBTP = -1.0 // EBU R 128: the highest true peak

// pairs fills in the pairs, with the levels where they are known.
func (m *maker) pairs() {
	for _, l := range m.patch.Lanes {
		p := Pair{Number: l.Number, Name: l.Name, Path: fmt.Sprintf("P%d %s", l.Number, l.Name), Free: l.Free, Interface: l.Interface, Buses: []Bus{}}
		for _, b := range l.Buses {
			p.Buses = append(p.Buses, Bus{b.Name, b.Tracks})
		}
		for side, line := range l.Lines {
			p.Outputs[side], p.SummingInputs[side] = line.Output, line.SummingInput
			p.From[side], p.To[side], p.Label[side] = line.From.String(), line.To.String(), line.Label
		}
		m.list.Pairs = append(m.list.Pairs, p)
	}
	if m.Levels == nil {
		return
	}
	a := m.rig.Alignment
	for i := range m.list.Pairs {
		p := &m.list.Pairs[i]
		for _, l := range m.Levels.Pairs {
			if l.Number != p.Number || l.Trim.Limit == "silent" {
				continue
			}
			vu := features.DB(a.DBu - a.VU - l.FullScaleDBu) // from VU to dBFS at this output
			p.Meter = &Meter{
				AsExported: Reading{l.VULoud, l.VUMax, l.VULoud + vu, l.TruePeakDBTP},
				OwnDB:      l.Trim.GainDB, OwnLimit: l.Trim.Limit, OverCount: l.OverCount, FullScaleDBu: l.FullScaleDBu,
				HeadroomDB: min(l.HeadroomConverterDB, l.HeadroomUnitDB),
			}
		}
	}
	m.balance()
}

// balance finds the trims that keep the balance of the mix: the same for all pairs, but that an interface that puts out
// more for the same digital level is lowered by as much. Of these the highest is taken at which no pair is beyond its own
// trim. Without several interfaces that is the common trim of package levels.
func (m *maker) balance() {
	least := math.Inf(1)
	for _, p := range m.list.Pairs {
		if p.Meter != nil {
			least = min(least, p.Meter.FullScaleDBu)
		}
	}
	common := math.Inf(1)
	for _, p := range m.list.Pairs {
		if p.Meter == nil {
			continue
		}
		if own := p.Meter.OwnDB - (least - p.Meter.FullScaleDBu); own < common {
			common, m.list.Return.LimitedBy = own, p.Number
		}
	}
	if math.IsInf(common, 1) {
		return
	}
	for _, p := range m.list.Pairs {
		if p.Meter != nil {
			p.Meter.BalanceDB = math.Round(100*(common+least-p.Meter.FullScaleDBu)) / 100
			p.Meter.Balanced = p.Meter.AsExported.up(p.Meter.BalanceDB)
		}
	}
	m.returns(common + least)
}

// returns works out the return's meter: all pairs together, a full-scale sine of the mix leaving at so many dBu, through a
// unit of unity gain into inputs whose full scale is that of the outputs of the same interface.
func (m *maker) returns(fullDBu float64) {
	box, ok := m.rig.Interface(m.rig.Return.Interface)
	t := m.Levels.Total
	if !ok || !exists(t.TruePeakDBTP) {
		return
	}
	a := m.rig.Alignment
	gain := fullDBu - box.FullScaleDBu          // digital out to digital in
	loud := t.VULoud - features.DB(a.VU-a.DBFS) // of the digital sum
	most := t.VUMax - t.VULoud                  // above loud passages
	vu := features.DB(fullDBu - a.DBu + a.VU)   // from dBFS going out to VU
	r := Reading{loud + vu, loud + vu + most, loud + features.DB(gain), t.TruePeakDBTP + features.DB(gain)}
	m.list.Return.Reading = &r
	m.list.Return.SpareDB = ceilingDBTP - r.TruePeakDBTP
}

// back fills in the way back.
func (m *maker) back() {
	r := &m.list.Return
	r.PrintTrack = "Print"
	if r.Stated = m.rig.Return.Stated(); !r.Stated {
		return
	}
	b := m.patch.Return
	r.Interface, r.Inputs, r.PrintTrack = b.Interface, b.Inputs, b.PrintTrack
	r.From, r.To = ends(b.From), ends(b.To)
}

func ends(e [2]patch.End) [2]string { return [2]string{e[0].String(), e[1].String()} }

// several says that the pairs leave by more than one interface.
func (m *maker) several() bool {
	for _, p := range m.list.Pairs {
		if p.Interface != m.list.Pairs[0].Interface {
			return true
		}
	}
	return false
}

// monitors is the interface that feeds the speakers, nil where the rig does not say.
func (m *maker) monitors() *rig.Interface {
	for i := range m.rig.Interfaces {
		if m.rig.Interfaces[i].HasMonitors() {
			return &m.rig.Interfaces[i]
		}
	}
	return nil
}

func exists(v features.DB) bool { return !math.IsNaN(float64(v)) && !math.IsInf(float64(v), 0) }
