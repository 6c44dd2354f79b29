package levels

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foldout/plan/sheet"
)

// boxes lists the interfaces of the pairs, in their order, with the gains that keep the balance of the mix at the unit.
func boxes(pairs []Pair) []Box {
	list := []Box{}
	lowest := math.Inf(1)
	for _, p := range pairs {
		n := slices.IndexFunc(list, func(b Box) bool { return b.Interface == p.Interface })
		if n < 0 {
			n, list = len(list), append(list, Box{Interface: p.Interface, FullScaleDBu: p.FullScaleDBu})
		}
		list[n].Pairs = append(list[n].Pairs, p.Number)
		lowest = min(lowest, p.FullScaleDBu)
	}
	least := math.Inf(1)
	for _, p := range pairs {
		if p.Trim.Limit != "silent" {
			least = min(least, p.Trim.GainDB-(lowest-p.FullScaleDBu))
		}
	}
	if math.IsInf(least, 0) {
		least = 0
	}
	for n := range list {
		list[n].GainDB = sheet.Round(least+lowest-list[n].FullScaleDBu, 2)
	}
	return list
}

// Differ tells whether the interfaces put out different levels at full scale.
func (l *Levels) Differ() bool {
	return slices.ContainsFunc(l.Interfaces, func(b Box) bool { return b.FullScaleDBu != l.Interfaces[0].FullScaleDBu })
}

// PairGains are the gains of the pairs, by number, that keep the balance of the mix at the unit.
func (l *Levels) PairGains() map[int]float64 {
	out := map[int]float64{}
	for _, b := range l.Interfaces {
		for _, p := range b.Pairs {
			out[p] = b.GainDB
		}
	}
	return out
}

// differWords says what it means that the interfaces differ.
func (l *Levels) differWords() string {
	var levels, trims []string
	for _, b := range l.Interfaces {
		levels = append(levels, fmt.Sprintf("%s %+g dBu", b.Interface, b.FullScaleDBu))
		trims = append(trims, fmt.Sprintf("%s %+.1f dB", b.Interface, b.GainDB))
	}
	return fmt.Sprintf("the interfaces put out different levels at 0 dBFS (%s), so the hotter pairs reach the unit louder than the mix has them; trims that keep its balance: all pairs of %s",
		strings.Join(levels, ", "), strings.Join(trims, ", of "))
}
