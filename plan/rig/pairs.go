package rig

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Pair is a stereo pair that is free for the mix. Outputs are counted on the interface named, summing inputs on the
// summing unit.
type Pair struct {
	Interface     string `json:"interface"`
	Outputs       [2]int `json:"outputs"`
	SummingInputs [2]int `json:"summing_inputs"`
}

// Pairs returns the pairs that are free, in order: floor(outputs/2) of each interface, less the monitor pair and
// reserved outputs, capped by the summing inputs. Notes name what is left over: odd outputs, unused inputs, lost
// pairs. The error is that of Validate, or says that nothing is left.
func (r *Rig) Pairs() (pairs []Pair, notes []string, err error) {
	if err := r.Validate(); err != nil {
		return nil, nil, err
	}
	for i := range r.Interfaces {
		list, odd := r.Interfaces[i].free()
		pairs = append(pairs, list...)
		notes = append(notes, odd...)
	}
	if len(pairs) == 0 {
		return nil, notes, errors.New("no pair of line outputs is free for the mix; " + strings.Join(notes, "; "))
	}
	pairs, more := r.plug(pairs)
	return pairs, append(notes, more...), nil
}

// Outputs returns the outputs of pairs alone, in their order.
func Outputs(pairs []Pair) [][2]int {
	out := make([][2]int, len(pairs))
	for i, p := range pairs {
		out[i] = p.Outputs
	}
	return out
}

// Devices returns the interfaces of pairs, in their order.
func Devices(pairs []Pair) []string {
	out := make([]string, len(pairs))
	for i, p := range pairs {
		out[i] = p.Interface
	}
	return out
}

// free pairs up what monitors and reservations leave: neighbours (odd, even) first, then what remains in order.
func (i *Interface) free() (pairs []Pair, notes []string) {
	var left []int
	for n := 1; n <= i.LineOutputs; n++ {
		if i.available(n) {
			left = append(left, n)
		}
	}
	var lone []int
	for k := 0; k < len(left); k++ {
		if left[k]%2 == 1 && k+1 < len(left) && left[k+1] == left[k]+1 {
			pairs = append(pairs, Pair{Interface: i.Name, Outputs: [2]int{left[k], left[k+1]}})
			k++
			continue
		}
		lone = append(lone, left[k])
	}
	for len(lone) > 1 {
		pairs = append(pairs, Pair{Interface: i.Name, Outputs: [2]int{lone[0], lone[1]}})
		notes = append(notes, fmt.Sprintf("%s: outputs %d and %d are no neighbours but make a pair, because others are taken", i.Name, lone[0], lone[1]))
		lone = lone[2:]
	}
	if len(lone) == 1 {
		notes = append(notes, fmt.Sprintf("%s: output %d is odd and stays unused", i.Name, lone[0]))
	}
	if i.HasMonitors() {
		notes = append(notes, fmt.Sprintf("%s: outputs %d/%d feed the speakers", i.Name, i.MonitorPair[0], i.MonitorPair[1]))
	}
	if len(i.ReservedOutputs) > 0 {
		notes = append(notes, fmt.Sprintf("%s: reserved for something else: outputs %s", i.Name, Numbers(i.ReservedOutputs)))
	}
	slices.SortFunc(pairs, func(a, b Pair) int { return a.Outputs[0] - b.Outputs[0] })
	return pairs, notes
}

func (i *Interface) available(n int) bool {
	return n != i.MonitorPair[0] && n != i.MonitorPair[1] && !slices.Contains(i.ReservedOutputs, n)
}

// plug gives each pair its summing inputs. Pairs that find none are lost, and the notes say so.
func (r *Rig) plug(pairs []Pair) (plugged []Pair, notes []string) {
	plugged = r.straight(pairs)
	if plugged == nil {
		plugged = r.inOrder(pairs)
	}
	for _, p := range pairs {
		if !slices.ContainsFunc(plugged, func(q Pair) bool { return q.Interface == p.Interface && q.Outputs == p.Outputs }) {
			notes = append(notes, fmt.Sprintf("%s: outputs %d/%d find no free inputs on %s and are lost to the mix", p.Interface, p.Outputs[0], p.Outputs[1], r.Summing.Name))
		}
	}
	used := map[int]bool{}
	for _, p := range plugged {
		used[p.SummingInputs[0]], used[p.SummingInputs[1]] = true, true
	}
	var unused []int
	for n := 1; n <= r.Summing.Inputs; n++ {
		if !used[n] {
			unused = append(unused, n)
		}
	}
	if len(unused) > 0 {
		notes = append(notes, fmt.Sprintf("%s: unused inputs %s", r.Summing.Name, Numbers(unused)))
	}
	return plugged, notes
}

// straight plugs 25-way looms one to one, so that channel n of a loom is channel n at both ends. It returns nil where
// connectors or wishes forbid it, or where it would cost pairs.
func (r *Rig) straight(pairs []Pair) []Pair {
	base := map[string]int{}
	next := 0
	for _, i := range r.Interfaces {
		if i.Connector != DSub || r.Summing.Connector != DSub || i.FirstSummingInput != 0 {
			return nil
		}
		base[i.Name] = next
		next += (i.LineOutputs + 7) / 8 * 8
	}
	var out []Pair
	for _, p := range pairs {
		p.SummingInputs = [2]int{base[p.Interface] + p.Outputs[0], base[p.Interface] + p.Outputs[1]}
		if p.Outputs[1] != p.Outputs[0]+1 {
			return nil
		}
		if p.SummingInputs[1] <= r.Summing.Inputs {
			out = append(out, p)
		}
	}
	if len(out) < min(len(pairs), r.Summing.Inputs/2) {
		return nil
	}
	return out
}

// inOrder plugs interfaces with a stated first summing input there, and the others into what is left, from the top.
func (r *Rig) inOrder(pairs []Pair) []Pair {
	used := map[int]bool{} // first input of each pair taken
	first := map[string]int{}
	for _, i := range r.Interfaces {
		first[i.Name] = i.FirstSummingInput
	}
	at := make([]int, len(pairs))
	for k, p := range pairs {
		if n := first[p.Interface]; n > 0 && n < r.Summing.Inputs {
			at[k], used[n] = n, true
			first[p.Interface] = n + 2
		} else if n > 0 {
			at[k] = -1
		}
	}
	next := 1
	var out []Pair
	for k, p := range pairs {
		if at[k] == 0 {
			for used[next] {
				next += 2
			}
			at[k] = next
			next += 2
		}
		if at[k] < 1 || at[k] >= r.Summing.Inputs {
			continue
		}
		p.SummingInputs = [2]int{at[k], at[k] + 1}
		out = append(out, p)
	}
	return out
}

// Numbers writes numbers in order, runs shortened: 1-4, 7, 9-10.
func Numbers(numbers []int) string {
	n := slices.Clone(numbers)
	slices.Sort(n)
	var parts []string
	for i := 0; i < len(n); {
		j := i
		for j+1 < len(n) && n[j+1] == n[j]+1 {
			j++
		}
		part := strconv.Itoa(n[i])
		if j > i {
			part += "-" + strconv.Itoa(n[j])
		}
		parts = append(parts, part)
		i = j + 1
	}
	return strings.Join(parts, ", ")
}
