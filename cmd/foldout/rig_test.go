package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/rig"
	"foldout/plan/sheet"
	"foldout/testdata/underrace"
)

// runRig runs the program with answers on its standard input.
func runRig(answers string, list ...string) (out, errOut string, err error) {
	var o, e bytes.Buffer
	root := newRoot()
	root.SetArgs(list)
	root.SetIn(strings.NewReader(answers))
	root.SetOut(&o)
	root.SetErr(&e)
	err = root.Execute()
	return o.String(), e.String(), err
}

func TestRigNewTakesFlags(t *testing.T) {
	path := filepath.Join(t.TempDir(), "studio.toml")
	out, _, err := runRig("", "rig", "new", "--out", path, "--outputs", "32,8", "--monitor", "2:1/2", "--return", "2:7/8",
		"--connector", "dsub,trs", "--full-scale", "24,20", "--summing", "40", "--interface", "Redwing,Brambling", "--max-input", "27")
	require.NoError(t, err)
	assert.Contains(t, out, "19 pairs free") // 16 + (4 - 1)
	r, err := rig.Load(path)
	require.NoError(t, err)
	assert.Equal(t, [2]int{1, 2}, r.Interfaces[1].MonitorPair)
	assert.Equal(t, rig.Return{Interface: "Brambling", Inputs: [2]int{7, 8}, PrintTrack: "Print"}, r.Return)
	assert.Equal(t, rig.Alignment{DBFS: -20, DBu: 4}, r.Alignment)

	before, err := os.ReadFile(path)
	require.NoError(t, err)
	_, _, err = runRig("", "rig", "new", "--out", path, "--outputs", "8")
	assert.ErrorContains(t, err, "a rig is never replaced")
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

func TestRigNewRefusesNonsense(t *testing.T) {
	cases := []struct {
		name  string
		flags []string
		want  string
	}{
		{"no file", nil, "give --out FILE"},
		{"flags but no outputs", []string{"--inputs", "8"}, "--inputs without --outputs"},
		{"monitors beyond", []string{"--outputs", "8", "--monitor", "9/10"}, "monitor pair 9/10 lies beyond"},
		{"monitors unreadable", []string{"--outputs", "8", "--monitor", "left"}, "want two numbers like 1/2"},
		{"monitors on no interface", []string{"--outputs", "8", "--monitor", "2:1/2"}, "there is no interface 2"},
		{"zero outputs", []string{"--outputs", "0"}, "no line outputs"},
		{"unknown connector", []string{"--outputs", "8", "--connector", "din"}, `connector "din" is not known`},
		{"too few values", []string{"--outputs", "8,8,8", "--full-scale", "22,20"}, "2 values for 3 interfaces"},
		{"no values", []string{"--outputs", "8", "--inputs", ""}, "--inputs"},
		{"too few names", []string{"--outputs", "8,8", "--interface", "One"}, "1 names for 2 interfaces"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "r.toml")
			list := append([]string{"rig", "new"}, c.flags...)
			if c.name != "no file" {
				list = append(list, "--out", path)
			}
			_, _, err := runRig("", list...)
			var usage usageError
			require.ErrorAs(t, err, &usage)
			assert.ErrorContains(t, err, c.want)
			assert.NoFileExists(t, path)
		})
	}
}

func TestRigNewAsksUntilItMakesSense(t *testing.T) {
	path := filepath.Join(t.TempDir(), "loft.toml")
	answers := strings.Join([]string{
		"Loft", "One", "many", "16", "banana", "dsub", "16", "loud", "22 dBu", "yes", // first interface
		"one", "Two", "", "", "", "20,5", "", // second: its name is taken once, then defaults
		"3:1/2", "9/9", "2:1/2", // speakers
		"Quernstone", "23", "24", "", "", "1", "26", // summing unit
		"17/18", "2:7/8", // return
	}, "\n") + "\n"
	_, asked, err := runRig(answers, "rig", "new", "--out", path)
	require.NoError(t, err, asked)
	for _, want := range []string{"want a whole number from 1", "want one of dsub, trs, xlr", "is taken", "there is no interface 3", "want two different outputs from 1 to 16", "an even one", "want a level from +4.1 to +40 dBu", "want two different inputs"} {
		assert.Contains(t, asked, want)
	}
	r, err := rig.Load(path)
	require.NoError(t, err)
	assert.Equal(t, "Loft", r.Name)
	require.Len(t, r.Interfaces, 2)
	assert.Equal(t, 20.5, r.Interfaces[1].FullScaleDBu)
	assert.Equal(t, [2]int{1, 2}, r.Interfaces[1].MonitorPair)
	assert.Equal(t, 24, r.Summing.Inputs)
	assert.Equal(t, rig.DSub, r.Summing.Connector)
	assert.Equal(t, "Two", r.Return.Interface)
}

func TestRigNewWithoutAnyoneToAsk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "r.toml")
	_, _, err := runRig("Loft\n", "rig", "new", "--out", path)
	assert.ErrorContains(t, err, "give --outputs")
	assert.NoFileExists(t, path)
}

func TestRigShowDrawsAndChecks(t *testing.T) {
	svg := filepath.Join(t.TempDir(), "r.svg")
	out, _, err := runRig("", "rig", "show", "../../examples/rigs/16-outputs.toml", "--svg", svg)
	require.NoError(t, err)
	assert.Contains(t, out, "7 pairs free")
	data, err := os.ReadFile(svg)
	require.NoError(t, err)
	assert.Contains(t, string(data), "P7 R")
	_, _, err = runRig("", "rig", "show", "../../examples/rigs/16-outputs.toml", "--svg", svg)
	assert.ErrorContains(t, err, "exists")
	bad := filepath.Join(t.TempDir(), "bad.toml")
	require.NoError(t, os.WriteFile(bad, []byte("nam = \"x\"\n"), 0o600))
	_, _, err = runRig("", "rig", "show", bad)
	assert.ErrorContains(t, err, `bad.toml: line 1: unknown key "nam" in a rig; did you mean "name"?`)
}

func FuzzRigAnswers(f *testing.F) {
	f.Add("Loft\nOne\n16\ndsub\n16\n22\nno\n1/2\nQ\n16\n\n\n\n\n")
	f.Add("\n\n\n\n\n\n\n\n\n\n\n\n\n\n")
	f.Fuzz(func(t *testing.T, answers string) {
		var a rigAnswers
		a.pan, a.printTrack = "-3 dB", "Print"
		if err := a.ask(strings.NewReader(answers), io.Discard); err != nil {
			return
		}
		r, err := a.rig()
		if err != nil {
			var u usageError
			if !errors.As(err, &u) {
				t.Fatal(err)
			}
			return
		}
		if err := rig.Write(io.Discard, r); err != nil {
			t.Fatal(err)
		}
	})
}

// With two interfaces every place that names an output says whose it is.
func TestOutputsSayWhoseTheyAre(t *testing.T) {
	underrace.Skip(t)
	dir, work := smallSession(t), t.TempDir()
	studio := filepath.Join(work, "studio.toml")
	_, _, err := call(t, "rig", "new", "--out", studio, "--outputs", "4,4", "--interface", "Rack A,Rack B", "--full-scale", "24,18", "--summing", "8", "--return", "2:1/2", "--inputs", "2")
	require.NoError(t, err)
	saved := filepath.Join(work, "song.json")
	_, _, err = call(t, "suggest", dir, "--rig", studio, "--use-all", "--exclude", "02*", "--out", saved)
	require.NoError(t, err)
	doc, err := sheet.Load(saved)
	require.NoError(t, err)
	require.Len(t, doc.Pairs, 4)
	assert.Equal(t, []string{"Rack A", "Rack A", "Rack B", "Rack B"}, []string{doc.Pairs[0].Device, doc.Pairs[1].Device, doc.Pairs[2].Device, doc.Pairs[3].Device})
	shown, _, err := call(t, "suggest", dir, "--rig", studio)
	require.NoError(t, err)
	assert.Contains(t, shown, "Rack B 1/2")
	shown, _, err = call(t, "suggest", dir, "--rig", studio, "--format", "csv")
	require.NoError(t, err)
	assert.Contains(t, shown, ",Rack B\n")
	shown, _, err = call(t, "explain", saved, "3")
	require.NoError(t, err)
	assert.Contains(t, shown, ": Rack B 1/2")
	shown, _, err = call(t, "patch", saved, "--rig", studio)
	require.NoError(t, err)
	assert.Contains(t, shown, "| Rack B 1 > in 5 |")
	assert.Contains(t, shown, "sum out > Rack B in 1")
	shown, _, err = call(t, "levels", saved, "--rig", studio)
	require.NoError(t, err)
	shown = strings.Join(strings.Fields(shown), " ")
	assert.Contains(t, shown, "Rack B 1/2")
	assert.Regexp(t, `all pairs of Rack A: [+-][0-9.]+ dB \(full scale is \+24 dBu there\)`, shown)
	page := filepath.Join(work, "page.html")
	_, _, err = call(t, "report", saved, "--rig", studio, "--html", page)
	require.NoError(t, err)
	html, err := os.ReadFile(page)
	require.NoError(t, err)
	assert.True(t, strings.Contains(string(html), "Rack B outputs 1/2"), "the page names the interface")

	// stems at the trims of both: 6 dB apart
	shown, _, err = call(t, "stems", saved, "--rig", studio, "--out", filepath.Join(work, "stems"), "--trim", "--format", "json")
	require.NoError(t, err)
	var written struct {
		Stems []struct {
			GainDB float64 `json:"gain_db"`
		}
	}
	require.NoError(t, json.Unmarshal([]byte(shown), &written))
	assert.InDelta(t, 6, written.Stems[len(written.Stems)-1].GainDB-written.Stems[0].GainDB, 0.011)
}

func TestARigThatCannotBeUsedIsNotWritten(t *testing.T) {
	out := filepath.Join(t.TempDir(), "studio.toml")
	_, _, err := call(t, "rig", "new", "--out", out, "--outputs", "2", "--monitor", "1/2", "--summing", "2")
	require.Error(t, err)
	assert.NoFileExists(t, out)
}
