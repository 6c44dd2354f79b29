package patch

import (
	"fmt"
	"strings"

	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// meet finds the rig's pair for each pair of the sheet; a zero rig.Pair stands for none.
func meet(sheet *sheet.Sheet, r *rig.Rig, free []rig.Pair) (used []rig.Pair, notes []string, faults rig.Faults) {
	used = make([]rig.Pair, len(sheet.Pairs))
	if !inOrder(sheet) && !asRig(sheet, free) {
		return used, nil, byNumber(sheet, r, free, used)
	}
	busy := 0
	for _, p := range sheet.Pairs {
		if len(p.Tracks) > 0 {
			busy++
		}
	}
	if busy > len(free) {
		return nil, nil, rig.Faults{fmt.Sprintf("the sheet has %d pairs with tracks, but this rig has only %d free; fold again with --pairs %d", busy, len(free), len(free))}
	}
	tight := len(sheet.Pairs) > len(free) // then free pairs of the sheet get nothing
	next := 0
	for n, p := range sheet.Pairs {
		if tight && len(p.Tracks) == 0 {
			continue
		}
		used[n] = free[next]
		next++
	}
	if !asRig(sheet, free) {
		notes = append(notes, "the sheet counts its outputs 1/2, 3/4, ...; the rig's own numbers stand here")
	}
	return used, notes, nil
}

// inOrder reports whether the outputs are numbered as they are without a rig.
func inOrder(sheet *sheet.Sheet) bool {
	for n, p := range sheet.Pairs {
		if p.Outputs != [2]int{2*n + 1, 2*n + 2} {
			return false
		}
	}
	return true
}

// asRig reports whether the outputs are those of the rig's free pairs, in their order.
func asRig(sheet *sheet.Sheet, free []rig.Pair) bool {
	for n, p := range sheet.Pairs {
		if n >= len(free) || p.Outputs != free[n].Outputs || p.Device != "" && p.Device != free[n].Interface {
			return false
		}
	}
	return true
}

// byNumber takes the sheet's interfaces and output numbers at their word. Where the sheet names no interface of the rig, a number
// means the first one that still has that pair free.
func byNumber(sheet *sheet.Sheet, r *rig.Rig, free, used []rig.Pair) (faults rig.Faults) {
	taken := make([]bool, len(free))
	owner := map[[2]int]int{}
next:
	for n, p := range sheet.Pairs {
		for k, f := range free {
			if _, known := r.Interface(p.Device); known && p.Device != f.Interface {
				continue
			}
			if !taken[k] && f.Outputs == p.Outputs {
				used[n], taken[k] = f, true
				owner[p.Outputs] = n + 1
				continue next
			}
		}
		if len(p.Tracks) == 0 {
			continue
		}
		faults = append(faults, refuse(n+1, p, r, owner))
	}
	return faults
}

// refuse says why the rig cannot give a pair the outputs it asks for.
func refuse(number int, p sheet.Pair, r *rig.Rig, owner map[[2]int]int) string {
	at := fmt.Sprintf("pair %d (%s) is on outputs %d/%d", number, p.Name, p.Outputs[0], p.Outputs[1])
	if p.Outputs[0] == p.Outputs[1] {
		return fmt.Sprintf("pair %d (%s) names output %d twice", number, p.Name, p.Outputs[0])
	}
	if first, ok := owner[p.Outputs]; ok {
		return fmt.Sprintf("%s, and so is pair %d: one output, two pairs", at, first)
	}
	exists := false
	for _, i := range r.Interfaces {
		for _, o := range p.Outputs {
			if i.HasMonitors() && (o == i.MonitorPair[0] || o == i.MonitorPair[1]) {
				return fmt.Sprintf("%s, but output %d of %s feeds the speakers", at, o, i.Name)
			}
			for _, reserved := range i.ReservedOutputs {
				if o == reserved {
					return fmt.Sprintf("%s, but output %d of %s is reserved for something else", at, o, i.Name)
				}
			}
		}
		exists = exists || min(p.Outputs[0], p.Outputs[1]) >= 1 && max(p.Outputs[0], p.Outputs[1]) <= i.LineOutputs
	}
	if !exists {
		return at + ", which no interface of this rig has"
	}
	return at + ", which is none of the pairs this rig has free; see foldout rig show"
}

// spare names the rig's pairs that the sheet leaves idle, one line for each interface.
func spare(free, used []rig.Pair) (notes []string) {
	taken := map[rig.Pair]bool{}
	for _, u := range used {
		taken[u] = true
	}
	idle := map[string][]string{}
	var order []string
	for _, f := range free {
		if taken[f] {
			continue
		}
		if idle[f.Interface] == nil {
			order = append(order, f.Interface)
		}
		idle[f.Interface] = append(idle[f.Interface], fmt.Sprintf("%d/%d", f.Outputs[0], f.Outputs[1]))
	}
	for _, box := range order {
		notes = append(notes, fmt.Sprintf("%s: outputs %s are free, the sheet does not use them", box, strings.Join(idle[box], ", ")))
	}
	return notes
}
