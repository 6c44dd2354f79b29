package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/fold"
	"foldout/testdata/underrace"
)

// bad is a call that cannot succeed: its arguments, in which {} stands for the file or folder of the case, what it must
// say on stderr or in its error, and how it must end.
type bad struct {
	name string
	args []string
	says string
	code int
}

// codeOf is the exit code of an error, as run has it.
func codeOf(err error) int {
	var usage usageError
	var option *fold.OptionError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &usage), errors.As(err, &option):
		return exitUsage
	}
	return exitCould
}

// fails runs a bad call in an empty folder and looks at what it leaves: nothing.
func fails(t *testing.T, c bad) {
	t.Helper()
	t.Run(c.name, func(t *testing.T) {
		t.Chdir(t.TempDir())
		out, said, err := call(t, c.args...)
		if err != nil {
			said += err.Error()
		}
		assert.Equal(t, c.code, codeOf(err), "%v: %v", c.args, err)
		assert.Contains(t, said, c.says)
		assert.Empty(t, out, "results of a call that failed")
		for _, no := range []string{"panic", "goroutine", "runtime error", "%!", "Go value", "unexpected EOF"} {
			assert.NotContains(t, said, no)
		}
		assert.Less(t, len(said), 4000, "an error is no book")
		left, err := os.ReadDir(".")
		require.NoError(t, err)
		assert.Empty(t, left, "files left behind")
	})
}

// keep writes a file for a case and returns its path.
func keep(t *testing.T, name, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(content), 0o644))
	return path
}

// Arguments that people mistype. The exit codes are those that the help lists: 2 for the call, 1 for the material.
func TestBadArgumentsAreWrongUsage(t *testing.T) {
	sound := keep(t, "sheet.json", soundSheet)
	csv := keep(t, "sheet.csv", "track,pair\nKick,1\n")
	empty := t.TempDir()
	count := 0
	for _, c := range []struct {
		call, says string
		code       int
	}{
		{"sugest X", "did you mean suggest", 2},
		{"xyzzy", "no command", 2},
		{"--nonsense", "unknown flag", 2},
		{"-Z", "unknown shorthand", 2},
		{"measure", "it is called so", 2},
		{"measure a b", "it is called so", 2},
		{"measure EMPTY --format xml", "--format xml", 2},
		{"measure EMPTY --workers -1", "--workers -1", 2},
		{"measure EMPTY --workers many", "invalid argument", 2},
		{"measure EMPTY --workers 99999999999999999999", "invalid argument", 2},
		{"measure EMPTY", "the folder is empty", 1},
		{"measure nowhere", "nowhere", 1},
		{"measure CSV", "sheet.csv", 1},
		{"suggest EMPTY", "--pairs", 2},
		{"suggest EMPTY --pairs 0", "--pairs 0", 2},
		{"suggest EMPTY --pairs -3", "--pairs -3", 2},
		{"suggest EMPTY --pairs 1e3", "invalid argument", 2},
		{"suggest EMPTY --pairs 4 --format yaml", "--format yaml", 2},
		{"suggest EMPTY --pairs 4 --seed -1", "invalid argument", 2},
		{"suggest EMPTY --pairs 4 --seed x", "invalid argument", 2},
		{"suggest EMPTY --pairs 999999", "--pairs 999999", 2},
		{"suggest EMPTY --pairs 4", "the folder is empty", 1},
		{"suggest EMPTY --grow SHEET --like SHEET --pairs 4", "exclude one another", 2},
		{"suggest EMPTY --pairs 4 --grow nowhere.json", "nowhere.json", 1},
		{"suggest EMPTY --pairs 4 --rig nowhere.toml", "nowhere.toml", 1},
		{"suggest EMPTY --like SHEET --pairs 7", "--pairs 7", 2},
		{"suggest EMPTY --pairs 4 --out a.txt --html a.txt", "named twice", 2},
		{"check EMPTY", "--sheet", 2},
		{"check EMPTY --sheet nowhere.csv", "nowhere.csv", 1},
		{"check EMPTY --sheet CSV --format pdf", "--format pdf", 2},
		{"check EMPTY --sheet CSV --take 1", "--apply", 2},
		{"adopt EMPTY", "--sheet", 2},
		{"adopt EMPTY --sheet nowhere.csv", "nowhere.csv", 1},
		{"sweep EMPTY --pairs 4..2", "4..2", 2},
		{"sweep EMPTY --pairs 0..3", "0..3", 2},
		{"sweep EMPTY --pairs 1..1000", "1..1000", 2},
		{"sweep EMPTY --pairs two", "two", 2},
		{"sweep EMPTY --format wav", "--format wav", 2},
		{"rename SHEET", "--pair", 2},
		{"rename SHEET --pair Choir", "Choir", 2},
		{"rename SHEET --pair 0=Choir", "pair 0", 1},
		{"rename SHEET --pair 9=Choir", "9", 1},
		{"rename SHEET --bus Horns=Brass", "Horns", 1},
		{"explain", "it is called so", 2},
		{"explain a b c", "it is called so", 2},
		{"explain nowhere.json", "nowhere.json", 1},
		{"explain --glossary qwertz", "qwertz", 1},
		{"explain SHEET --lesson", "flag needs an argument", 2},
		{"explain SHEET --lesson here Kick", "whole sheet", 2},
		{"explain SHEET --format json", "--format json", 2},
		{"rig new", "--out", 2},
		{"rig new --out r.toml --outputs 0", "outputs", 2},
		{"rig new --out r.toml --outputs eight", "invalid argument", 2},
		{"rig new --out r.toml --outputs -8", "outputs", 2},
		{"rig new --out r.toml --outputs 1e9", "invalid argument", 2},
		{"rig new --out r.toml --outputs 99999999", "outputs", 2},
		{"rig new --out r.toml --outputs 8 --monitor 9/10", "9/10", 2},
		{"rig new --out r.toml --outputs 8 --pan hard", "hard", 2},
		{"rig new --out r.toml --outputs 8 --connector banana", "banana", 2},
		{"rig new --out r.toml --outputs 8 --full-scale NaN", "full_scale", 2},
		{"rig show", "it is called so", 2},
		{"rig show nowhere.toml", "nowhere.toml", 1},
		{"rig show EMPTY", "", 1},
		{"rig shwo x", "unknown command", 2},
		{"levels", "it is called so", 2},
		{"levels nowhere.json", "nowhere.json", 1},
		{"levels SHEET --format midi", "--format midi", 2},
		{"levels SHEET --folder nowhere", "nowhere", 1},
		{"levels EMPTY", "", 1},
		{"patch", "it is called so", 2},
		{"patch nowhere.json", "nowhere.json", 1},
		{"patch SHEET --format xls", "--format xls", 2},
		{"patch SHEET --rig nowhere.toml", "nowhere.toml", 1},
		{"patch SHEET --rig SHEET", "sheet.json", 1},
		{"stems SHEET", "--out", 2},
		{"stems SHEET --out o --bits 12", "--bits 12", 2},
		{"stems SHEET --out o --gain loud", "invalid argument", 2},
		{"stems SHEET --out o --gain NaN", "gain", 2},
		{"stems SHEET --out o --gain 1e308", "gain", 2},
		{"stems SHEET --out o --pan hard", "hard", 2},
		{"stems SHEET --out o --folder nowhere", "nowhere", 1},
		{"tones --out o", "--pairs", 2},
		{"tones --pairs 4", "--out", 2},
		{"tones --pairs 0 --out o", "--pairs 0", 2},
		{"tones --pairs 100000 --out o", "pairs", 2},
		{"tones --pairs 4 --out o --rate 1", "rate", 2},
		{"tones --pairs 4 --out o --bits 9", "--bits 9", 2},
		{"tones --pairs 4 --out o --level 999", "level", 2},
		{"trace", "it is called so", 2},
		{"trace nowhere.wav", "--tones", 2},
		{"trace nowhere.wav --tones EMPTY", "", 1},
		{"compare a.wav", "it is called so", 2},
		{"compare nowhere.wav nothing.wav", "nowhere.wav", 1},
		{"compare SHEET SHEET", "sheet.json", 1},
		{"compare CSV CSV --format ogg", "--format ogg", 2},
		{"listen", "it is called so", 2},
		{"listen EMPTY --no-browser", "", 1},
		{"listen nowhere.wav nothing.wav --no-browser", "nowhere.wav", 1},
		{"report SHEET", "--html", 2},
		{"report nowhere.json --html r.html", "nowhere.json", 1},
		{"report SHEET --html r.html --folder nowhere", "nowhere", 1},
		{"open a b --no-browser", "it is called so", 2},
		{"open nowhere --no-browser", "nowhere", 1},
		{"cache x", "it is called so", 2},
		{"demo x", "it is called so", 2},
	} {
		args := strings.Fields(c.call)
		for i, a := range args {
			switch a {
			case "EMPTY":
				args[i] = empty
			case "SHEET":
				args[i] = sound
			case "CSV":
				args[i] = csv
			}
		}
		fails(t, bad{name: strings.ReplaceAll(c.call, "/", "|"), args: args, says: c.says, code: c.code})
		count++
	}
	t.Logf("%d cases", count)
}

const soundSheet = `{"schema":2,"title":"Song","pairs":[{"name":"Drums","outputs":[1,2],"tracks":[{"file":"Kick.wav","bus":"Drums"}]}]}`

// Documents that are no sheet, by what is wrong with them.
var badSheets = []struct{ name, text, says string }{
	{"empty", "", "the file is empty"},
	{"blank", " \n\t", "the file is empty"},
	{"zeros", "\x00\x00\x00\x00", "faulty JSON"},
	{"a table", "track,pair\nKick,1\n", "faulty JSON"},
	{"cut short", soundSheet[:60], "faulty JSON"},
	{"twice", soundSheet + soundSheet, "faulty JSON"},
	{"UTF-16", "\xff\xfe{\x00}\x00", "faulty JSON"},
	{"a list", "[]", "something else"},
	{"a word", `"sheet"`, "something else"},
	{"null", "null", "schema 0"},
	{"no schema", `{"pairs":[{}]}`, "schema 0"},
	{"schema of tomorrow", `{"schema":99,"pairs":[{}]}`, "schema 99"},
	{"schema 1e308", `{"schema":1e308,"pairs":[{}]}`, `"schema" holds a number`},
	{"schema as text", `{"schema":"2","pairs":[{}]}`, `"schema" holds a string`},
	{"no pairs", `{"schema":2}`, "no pairs"},
	{"pairs of text", `{"schema":2,"pairs":"four"}`, `"pairs" holds a string`},
	{"outputs of text", `{"schema":2,"pairs":[{"outputs":"1/2"}]}`, "holds a string"},
	{"outputs 1e308", `{"schema":2,"pairs":[{"outputs":[1e308,2]}]}`, "holds a number"},
	{"outputs below one", `{"schema":2,"pairs":[{"outputs":[0,-1]}]}`, "outputs are counted from 1"},
	{"track without a file", `{"schema":2,"pairs":[{"tracks":[{}]}]}`, "without a file"},
	{"track twice", `{"schema":2,"pairs":[{"tracks":[{"file":"a.wav"},{"file":"a.wav"}]}]}`, "a.wav is on pair 1 and on pair 1"},
	{"2000 pairs", `{"schema":2,"pairs":[` + strings.Repeat("{},", 1999) + `{}]}`, "2000 pairs"},
	{"deep nesting", strings.Repeat("[", 20000) + strings.Repeat("]", 20000), "not a sheet"},
	{"a huge number", `{"schema":2,"pairs":[{"tracks":[{"file":"a.wav","confidence":1` + strings.Repeat("0", 400) + `}]}]}`, "holds a number"},
}

// Every command that reads a sheet says the same of what is none.
func TestBadSheetsAreNamedByEveryCommand(t *testing.T) {
	count := 0
	try := func(name, text, says string, args ...string) {
		path := keep(t, "mine.json", text)
		fails(t, bad{name: args[0] + " " + name, args: append([]string{args[0], path}, args[1:]...), says: says, code: exitCould})
		fails(t, bad{name: args[0] + " " + name + ", named", args: append([]string{args[0], path}, args[1:]...), says: path, code: exitCould})
		count++
	}
	for _, c := range badSheets {
		try(c.name, c.text, c.says, "patch")
	}
	for _, c := range badSheets[:6] {
		try(c.name, c.text, c.says, "levels")
		try(c.name, c.text, c.says, "explain")
		try(c.name, c.text, c.says, "stems", "--out", "o")
		try(c.name, c.text, c.says, "report", "--html", "r.html")
		try(c.name, c.text, c.says, "rename", "--pair", "1=X")
	}
	t.Logf("%d cases", count)
}

// Two million pairs and sixty megabytes of empty ones: said at once, by their number or size.
func TestSheetsOfAbsurdSize(t *testing.T) {
	underrace.Skip(t)
	millions := `{"schema":2,"pairs":[` + strings.Repeat("{},", 2_000_000) + `{}]}`
	fails(t, bad{"two million pairs", []string{"patch", keep(t, "millions.json", millions)}, "more than 500000 parts", exitCould})
	empty := `{"schema":2,"pairs":[` + strings.Repeat("{},", 20_000_000) + `{}]}`
	fails(t, bad{"sixty megabytes", []string{"levels", keep(t, "empty.json", empty)}, "more than 500000 parts", exitCould})
	more := strings.Repeat(" ", 65<<20) + soundSheet
	fails(t, bad{"more than any sheet", []string{"patch", keep(t, "more.json", more)}, "more than 64 MB", exitCould})
}

// A number of a sheet at the end of what a number can be does no harm: pages and texts are written, without it.
func TestHugeNumbersInASheetEndWell(t *testing.T) {
	for _, huge := range []string{"1e308", "-1e308", "5e-324", "1e25"} {
		text := strings.Replace(soundSheet, `"bus":"Drums"`, `"bus":"Drums","centroid_hz":`+huge+`,"crest_db":`+huge+`,"confidence":`+huge+`,"octave_db":[`+strings.TrimSuffix(strings.Repeat(huge+",", 10), ",")+`]`, 1)
		text = strings.Replace(text, `"pairs"`, `"figures":{"within_spread":`+huge+`,"silhouette":`+huge+`,"crowding":`+huge+`},"pairs"`, 1)
		path := keep(t, "huge.json", text)
		page := filepath.Join(t.TempDir(), "page.html")
		_, _, err := call(t, "report", path, "--sheet-only", "--html", page)
		require.NoError(t, err, huge)
		content, err := os.ReadFile(page)
		require.NoError(t, err)
		assert.NotContains(t, string(content), "NaN", huge)
		assert.Less(t, len(content), 1<<20, huge)
		_, _, err = call(t, "patch", path)
		require.NoError(t, err, huge)
	}
}

// Tables that are no grouping, as spreadsheets and people leave them.
func TestBadTablesAreNamed(t *testing.T) {
	underrace.Skip(t)
	folder := smallSession(t)
	count := 0
	for _, c := range []struct{ name, text, says string }{
		{"empty", "", "no header"},
		{"blank", "\n\n\n", "no header"},
		{"no header", "Kick,1\nHat,2\n", "no header"},
		{"half a header", "track\nKick\n", "no header"},
		{"header alone", "track,pair\n", "no tracks"},
		{"no pair at all", "track,pair\nKick,\nHat,\n", "no track has a pair"},
		{"pair zero", "track,pair\nKick,0\n", "line 2: pair 0"},
		{"pair below zero", "track,pair\nKick,-1\n", "line 2: pair -1"},
		{"pair 1e308", "track,pair\nKick,1e308\nHat,1.5\n", "line 3: pair 1.5"},
		{"pair of many digits", "track,pair\nKick,1\nHat,99999999\n", "line 3: pair 99999999"},
		{"half a pair", "track,pair\nKick,1.5\n", "pair 1.5"},
		{"packed workbook", "PK\x03\x04\x14\x00\x06\x00", "save the spreadsheet as CSV"},
		{"binary", "track,pair\nK\x00\x01\x02,1\n", "not a text file"},
		{"a sheet cut short", `{"schema":2,"pairs":[`, "faulty JSON"},
		{"an empty object", "{}", "schema 0"},
		{"a thousand pairs", func() string {
			b := "track,pair\n"
			for i := range 2000 {
				b += fmt.Sprintf("T%d,Name %d\n", i, i)
			}
			return b
		}(), "different pairs"},
		{"a quote left open", "track;pair\n\"Kick;1\nHat;2\n", ""},
		{"nobody known", "track,pair\nTuba,1\nHarp,2\n", ""},
		{"17 MB", "track,pair\n" + strings.Repeat("x", 17<<20), "more than 16 MB"},
	} {
		path := keep(t, "mine.csv", c.text)
		for _, command := range []string{"check", "adopt"} {
			fails(t, bad{name: command + " " + c.name, args: []string{command, folder, "--sheet", path}, says: c.says, code: exitCould})
			count++
		}
	}
	t.Logf("%d cases", count)
}

// Rigs that are none. What a rig may not say is tested in package rig; here is what may lie at its place.
func TestBadRigsAreNamed(t *testing.T) {
	const head = "[summing]\nname = \"Unit\"\ninputs = 8\nmax_input_dbu = 24.0\noperating_dbu = 4.0\n"
	count := 0
	for _, c := range []struct{ name, text, says string }{
		{"empty", "", "[[interface]]"},
		{"zeros", "\x00\x00\x00\x00", "line 1"},
		{"JSON", `{"name":"Room"}`, "line 1"},
		{"a sheet", soundSheet, "line 1"},
		{"UTF-16", "\xff\xfen\x00", ""},
		{"unknown key", "nmae = \"Room\"\n" + head, `did you mean "name"`},
		{"key twice", "name = \"a\"\nname = \"b\"\n", "name"},
		{"open string", "name = \"Room\n", "line 1"},
		{"a number as name", "name = 5\n", "line 1"},
		{"outputs as text", "[[interface]]\nname=\"A\"\nline_outputs = \"8\"\n", "line 3"},
		{"outputs of 1e308", "[[interface]]\nname=\"A\"\nline_outputs = 1e308\n" + head, ""},
		{"outputs of many digits", "[[interface]]\nname=\"A\"\nline_outputs = 99999999999999999999\n" + head, ""},
		{"half an output", "[[interface]]\nname=\"A\"\nline_outputs = 7.5\n" + head, ""},
		{"no outputs", "[[interface]]\nname=\"A\"\nline_outputs = 0\n" + head, "no line outputs"},
		{"no summing", "[[interface]]\nname=\"A\"\nline_outputs = 8\n", "[summing]"},
		{"full scale 1e308", "[[interface]]\nname=\"A\"\nline_outputs = 8\nfull_scale_dbu = 1e308\n" + head, "full_scale_dbu"},
		{"full scale nan", "[[interface]]\nname=\"A\"\nline_outputs = 8\nfull_scale_dbu = nan\n" + head, "full_scale_dbu"},
		{"inputs nested", "inputs = " + strings.Repeat("[", 5000) + strings.Repeat("]", 5000), ""},
		{"a megabyte of remarks", strings.Repeat("# remark\n", 200_000), "are no rig"},
	} {
		path := keep(t, "mine.toml", c.text)
		sheet := keep(t, "sheet.json", soundSheet)
		fails(t, bad{name: "show " + c.name, args: []string{"rig", "show", path}, says: c.says, code: exitCould})
		fails(t, bad{name: "patch " + c.name, args: []string{"patch", sheet, "--rig", path}, says: path, code: exitCould})
		count += 2
	}
	t.Logf("%d cases", count)
}

// Names as long as file systems take, 255 bytes with the extension, are measured, folded and summed.
func TestLongNamesGoThroughEverything(t *testing.T) {
	dir := t.TempDir()
	long := strings.Repeat("Ü", 120) + "long" // 244 bytes
	writeTrack(t, filepath.Join(dir, long+".wav"), notes(2, 55))
	writeTrack(t, filepath.Join(dir, "Vox.wav"), notes(2, 440))
	sheet := filepath.Join(t.TempDir(), "s.json")
	_, _, err := call(t, "suggest", dir, "--pairs", "2", "--out", sheet)
	require.NoError(t, err)
	_, _, err = call(t, "rename", sheet, "--pair", "1="+strings.Repeat("Ä", 100), "--force")
	require.NoError(t, err)
	out := filepath.Join(t.TempDir(), "stems")
	_, _, err = call(t, "stems", sheet, "--out", out)
	require.NoError(t, err)
	files, err := os.ReadDir(out)
	require.NoError(t, err)
	assert.NotEmpty(t, files)
}
