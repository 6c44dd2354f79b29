package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"foldout/plan/rig"
)

// rigAnswers are what is known of a rig to be written, from flags or from questions. Lists have one value for each
// interface, or one for all.
type rigAnswers struct {
	name        string
	outputs     []int
	inputs      []int
	names       []string
	monitor     string // "1/2", "2:1/2" for the second interface, "none"
	connectors  []string
	fullScale   []float64
	summing     int
	summingName string
	summingPlug string
	maxInput    float64
	operating   float64
	ret         string // as monitor
	printTrack  string
	pan         string
}

func (a *rigAnswers) register(f *pflag.FlagSet) {
	f.StringVar(&a.name, "name", "", "name of the rig (default: that of the file's studio, \"Studio\")")
	f.IntSliceVar(&a.outputs, "outputs", nil, "line outputs of each interface")
	f.IntSliceVar(&a.inputs, "inputs", []int{8}, "inputs of each interface")
	f.StringSliceVar(&a.names, "interface", nil, "names of the interfaces")
	f.StringVar(&a.monitor, "monitor", "none", "outputs that feed the speakers: 1/2, 2:1/2 on the second interface, none")
	f.StringSliceVar(&a.connectors, "connector", []string{rig.TRS}, "connector of the line outputs: dsub, trs, xlr")
	f.Float64SliceVar(&a.fullScale, "full-scale", []float64{22}, "dBu at 0 dBFS of each interface")
	f.IntVar(&a.summing, "summing", 0, "inputs of the summing unit (default: as many as there are outputs)")
	f.StringVar(&a.summingName, "summing-name", "Summing unit", "name of the summing unit")
	f.StringVar(&a.summingPlug, "summing-connector", "", "connector of its inputs (default: as the first interface)")
	f.Float64Var(&a.maxInput, "max-input", 24, "level in dBu that its inputs take")
	f.Float64Var(&a.operating, "operating", 4, "its operating level in dBu")
	f.StringVar(&a.ret, "return", "none", "inputs on which the sum comes back: 7/8, 2:1/2, none")
	f.StringVar(&a.printTrack, "print-track", "Print", "track that records the return")
	f.StringVar(&a.pan, "pan", "-3 dB", "pan law of mono tracks: -3 dB, -4.5 dB, -6 dB, 0 dB")
}

// firstGiven names a flag of the answers that was given, "" if none was.
func (a *rigAnswers) firstGiven(cmd *cobra.Command) (name string) {
	cmd.Flags().Visit(func(f *pflag.Flag) {
		if f.Name != "out" && name == "" {
			name = f.Name
		}
	})
	return name
}

// rig puts the answers together. Errors are wrong usage, or the contradictions of the rig.
func (a *rigAnswers) rig() (*rig.Rig, error) {
	n := len(a.outputs)
	r := &rig.Rig{Name: a.name, Pan: a.pan, Cables: rig.Cables{Looms: -1, Leads: -1}}
	if r.Name == "" {
		r.Name = "Studio"
	}
	for flag, count := range map[string]int{"inputs": len(a.inputs), "connector": len(a.connectors), "full-scale": len(a.fullScale)} {
		if count != 1 && count != n {
			return nil, usagef("--%s has %d values for %d interfaces; give one for each, or one for all", flag, count, n)
		}
	}
	if len(a.names) > 0 && len(a.names) != n {
		return nil, usagef("--interface has %d names for %d interfaces", len(a.names), n)
	}
	total := 0
	for k, outs := range a.outputs {
		i := rig.Interface{Name: fmt.Sprintf("Interface %d", k+1), LineOutputs: outs, Inputs: nth(a.inputs, k), Connector: nth(a.connectors, k), FullScaleDBu: nth(a.fullScale, k)}
		if len(a.names) > 0 {
			i.Name = a.names[k]
		}
		i.InputConnector = i.Connector
		r.Interfaces = append(r.Interfaces, i)
		total += max(outs, 0)
	}
	r.Summing = rig.Summing{Name: a.summingName, Inputs: a.summing, Connector: a.summingPlug, OutputConnector: rig.XLR, MaxInputDBu: a.maxInput, OperatingDBu: a.operating}
	if r.Summing.Inputs == 0 {
		r.Summing.Inputs = total / 2 * 2
	}
	if r.Summing.Connector == "" && n > 0 {
		r.Summing.Connector = r.Interfaces[0].Connector
	}
	r.Alignment = rig.Alignment{DBFS: a.operating - nth(a.fullScale, 0), DBu: a.operating}
	if k, pair, err := place(a.monitor, n); err != nil {
		return nil, usagef("--monitor %s: %w", a.monitor, err)
	} else if pair != [2]int{} {
		r.Interfaces[k].MonitorPair = pair
	}
	k, pair, err := place(a.ret, n)
	if err != nil {
		return nil, usagef("--return %s: %w", a.ret, err)
	}
	if pair != [2]int{} {
		r.Return = rig.Return{Interface: r.Interfaces[k].Name, Inputs: pair, PrintTrack: a.printTrack}
	}
	if err := r.Validate(); err != nil {
		return nil, usageError{err}
	}
	return r, nil
}

func nth[T any](list []T, k int) T { return list[min(k, len(list)-1)] }

// place reads "1/2", "2:1/2" or "none": an interface (counted from 0) and two of its channels, zero for none.
func place(text string, interfaces int) (k int, pair [2]int, err error) {
	text = strings.TrimSpace(text)
	if slices.Contains([]string{"", "none", "no", "0", "-"}, strings.ToLower(text)) {
		return 0, pair, nil
	}
	wrong := fmt.Errorf("want two numbers like 1/2, or none; 2:1/2 means the second interface")
	if box, rest, ok := strings.Cut(text, ":"); ok {
		n, err := strconv.Atoi(strings.TrimSpace(box))
		if err != nil {
			return 0, pair, wrong
		}
		if n < 1 || n > interfaces {
			return 0, pair, fmt.Errorf("there is no interface %d", n)
		}
		k, text = n-1, rest
	}
	parts := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune("/,- ", r) })
	if len(parts) != 2 {
		return 0, pair, wrong
	}
	for side, p := range parts {
		if pair[side], err = strconv.Atoi(p); err != nil || pair[side] < 1 {
			return 0, [2]int{}, wrong
		}
	}
	return k, pair, nil
}

// absent is an error where a file is already there, or its folder is not.
func absent(path string) error {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s exists; a rig is never replaced, choose another name", path)
	}
	if _, err := os.Stat(filepath.Dir(path)); err != nil {
		return fmt.Errorf("%s: no folder to write it to: %w", path, err)
	}
	return nil
}
