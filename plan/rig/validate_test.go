package rig

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const sound = `name = "Room"
pan = "-3 dB"

[[interface]]
name = "Brambling Eight"
line_outputs = 8
monitor_pair = [1, 2]
inputs = 8
connector = "trs"
full_scale_dbu = 22.0

[[interface]]
name = "Fieldfare 16"
line_outputs = 16
inputs = 16
connector = "dsub"
full_scale_dbu = 22.0

[summing]
name = "Quernstone 24"
inputs = 24
connector = "dsub"
max_input_dbu = 24.0
operating_dbu = 4.0
mono_switches = [1, 2]

[alignment]
dbfs = -18.0
dbu = 4.0
vu = 0.0

[return]
interface = "Fieldfare 16"
inputs = [15, 16]
print_track = "Print"

[cables]
looms = 2
leads = 8
`

// Each contradiction is made by one change to a sound rig, and must read as one line that names the culprit.
// All cases are invented.
func TestEveryContradictionHasItsLine(t *testing.T) {
	_, err := Read(strings.NewReader(sound))
	require.NoError(t, err)
	cases := []struct{ name, from, to, want string }{
		{"no interface at all", sound[strings.Index(sound, "[[interface]]"):], "[summing]\nname = \"Q\"\ninputs = 8\nmax_input_dbu = 24.0\noperating_dbu = 4.0\n", "there is no [[interface]]"},
		{"no summing table", sound[strings.Index(sound, "[summing]"):], "", "no [summing] table"},
		{"zero outputs", "line_outputs = 16", "line_outputs = 0", "Fieldfare 16 has no line outputs"},
		{"negative outputs", "line_outputs = 16", "line_outputs = -16", "line_outputs = -16: want 1 or more"},
		{"absurdly many outputs", "line_outputs = 16", "line_outputs = 100000", "more than 512"},
		{"monitor pair beyond outputs", "monitor_pair = [1, 2]", "monitor_pair = [9, 10]", "monitor pair 9/10 lies beyond its 8 line outputs"},
		{"monitor pair names one output twice", "monitor_pair = [1, 2]", "monitor_pair = [2, 2]", "names output 2 twice"},
		{"monitor pair counted from zero", "monitor_pair = [1, 2]", "monitor_pair = [0, 1]", "counted from 1"},
		{"negative monitor output", "monitor_pair = [1, 2]", "monitor_pair = [-1, 2]", "outputs are counted from 1"},
		{"monitor pair of one", "monitor_pair = [1, 2]", "monitor_pair = [1]", "monitor_pair has 1 numbers, want two"},
		{"two monitor pairs", "line_outputs = 16\n", "line_outputs = 16\nmonitor_pair = [1, 2]\n", "both Brambling Eight and Fieldfare 16 state a monitor pair"},
		{"reserved output overlaps the monitors", "monitor_pair = [1, 2]", "monitor_pair = [1, 2]\nreserved_outputs = [2]", "output 2 is reserved and also feeds the speakers"},
		{"output reserved twice", "monitor_pair = [1, 2]", "reserved_outputs = [7, 7]", "output 7 is reserved twice"},
		{"reserved output beyond outputs", "monitor_pair = [1, 2]", "reserved_outputs = [9]", "reserved output 9 is none of its 8"},
		{"negative inputs", "inputs = 16\n", "inputs = -1\n", "inputs = -1: want 0 or more"},
		{"unknown output connector", `connector = "trs"`, `connector = "banana"`, `connector "banana" is not known`},
		{"unknown input connector", `connector = "trs"`, "connector = \"trs\"\ninput_connector = \"rca\"", `input_connector "rca" is not known`},
		{"full scale not a number", "full_scale_dbu = 22.0\n\n[summing]", "full_scale_dbu = nan\n\n[summing]", "full_scale_dbu = NaN"},
		{"full scale infinite", "full_scale_dbu = 22.0\n\n[summing]", "full_scale_dbu = inf\n\n[summing]", "full_scale_dbu = +Inf"},
		{"full scale below alignment", "full_scale_dbu = 22.0\n\n[summing]", "full_scale_dbu = 3.0\n\n[summing]", "full scale at +3 dBu is not above the alignment level +4 dBu"},
		{"same name twice", `name = "Brambling Eight"`, `name = "fieldfare 16 "`, "two interfaces are called"},
		{"name left blank", `name = "Brambling Eight"`, `name = " "`, "name of an interface"},
		{"no summing inputs", "inputs = 24", "inputs = 0", "Quernstone 24 has no inputs"},
		{"negative summing inputs", "inputs = 24", "inputs = -2", "inputs = -2: want 2 or more"},
		{"odd summing inputs", "inputs = 24", "inputs = 23", "23 inputs are an odd number"},
		{"unknown summing connector", "inputs = 24\nconnector = \"dsub\"", "inputs = 24\nconnector = \"dsup\"", `connector "dsup" is not known`},
		{"unknown summing output connector", "inputs = 24", "inputs = 24\noutput_connector = \"din\"", `output_connector "din" is not known`},
		{"max input below operating", "max_input_dbu = 24.0", "max_input_dbu = 2.0", "maximum input level +2 dBu is not above the operating level +4 dBu"},
		{"max input not a number", "max_input_dbu = 24.0", "max_input_dbu = nan", "max_input_dbu = NaN"},
		{"operating level in volts", "operating_dbu = 4.0", "operating_dbu = -123.0", "operating_dbu = -123"},
		{"mono switch beyond inputs", "mono_switches = [1, 2]", "mono_switches = [25]", "a mono switch on input 25"},
		{"mono switch twice", "mono_switches = [1, 2]", "mono_switches = [1, 1]", "mono switch of input 1 is listed twice"},
		{"alignment above full scale", "dbfs = -18.0", "dbfs = 3.0", "dbfs = 3: want a level below 0 dBFS"},
		{"alignment not a number", "dbfs = -18.0", "dbfs = nan", "dbfs = NaN"},
		{"alignment against full scale", "dbfs = -18.0", "dbfs = -10.0", "puts full scale at +14 dBu, but Brambling Eight has it at +22 dBu: -10 dBFS leaves it at +12 dBu"},
		{"meter off its scale", "vu = 0.0", "vu = 12.0", "a VU meter reads from -20 to +3"},
		{"unknown preset", "dbfs = -18.0\ndbu = 4.0", `preset = "EBU R 86"`, `preset "EBU R 86" is not known`},
		{"preset against figures", "dbfs = -18.0", "preset = \"EBU R 68\"\ndbfs = -18.0", `preset "EBU R 68" means -18 dBFS = 0 dBu`},
		{"return to an unknown interface", `interface = "Fieldfare 16"`, `interface = "Redwing"`, `interface "Redwing" is not in this rig`},
		{"return interface not stated", "interface = \"Fieldfare 16\"\n", "", "does not say to which interface"},
		{"return inputs beyond inputs", "inputs = [15, 16]", "inputs = [17, 18]", "inputs 17/18 lie beyond the 16 inputs"},
		{"return on one input", "inputs = [15, 16]", "inputs = [15, 15]", "names input 15 twice"},
		{"return inputs not stated", "inputs = [15, 16]\n", "", "does not say which two inputs"},
		{"return counted from zero", "inputs = [15, 16]", "inputs = [0, 1]", "counted from 1"},
		{"unknown pan law", `pan = "-3 dB"`, `pan = "-5 dB"`, `pan = "-5 dB" is not a pan law`},
		{"summing input claimed twice", "line_outputs = 8\n", "line_outputs = 8\nfirst_summing_input = 1\n", ""},
		{"pairs beginning at an even input", "line_outputs = 8\n", "line_outputs = 8\nfirst_summing_input = 2\n", "begin at an odd input"},
		{"first summing input beyond", "line_outputs = 8\n", "line_outputs = 8\nfirst_summing_input = 25\n", "first_summing_input = 25, but"},
		{"negative looms", "looms = 2", "looms = -2", "looms = -2"},
		{"negative leads", "leads = 8", "leads = -8", "leads = -8"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			require.Contains(t, sound, c.from)
			text := strings.Replace(sound, c.from, c.to, 1)
			want := c.want
			if want == "" { // both interfaces must claim
				text = strings.Replace(text, "line_outputs = 16\n", "line_outputs = 16\nfirst_summing_input = 5\n", 1)
				want = "Brambling Eight and Fieldfare 16 both claim summing inputs 5/6"
			}
			_, err := Read(strings.NewReader(text))
			var f Faults
			require.ErrorAs(t, err, &f)
			assert.Len(t, f, 1, "one line: %v", f)
			assert.Contains(t, f[0], want)
			assert.NotContains(t, f[0], "\n")
		})
	}
}

func TestContradictionsComeTogether(t *testing.T) {
	text := strings.NewReplacer("line_outputs = 8", "line_outputs = -8", "inputs = 24", "inputs = 23", `pan = "-3 dB"`, `pan = "hard"`).Replace(sound)
	_, err := Read(strings.NewReader(text))
	var f Faults
	require.ErrorAs(t, err, &f)
	assert.Len(t, f, 3)
	assert.Contains(t, err.Error(), "3 things are wrong")
}

func TestUnknownKeysNameTheLineAndTheNearestKey(t *testing.T) {
	cases := []struct{ name, from, to, want string }{
		{"misspelt", "monitor_pair = [1, 2]", "monitor_pairs = [1, 2]", `line 7: unknown key "monitor_pairs" in [interface]; did you mean "monitor_pair"?`},
		{"misspelt at the top", "pan = ", "pann = ", `line 2: unknown key "pann" in a rig; did you mean "pan"?`},
		{"misspelt table", "[summing]", "[suming]", `unknown key "suming" in a rig; did you mean "summing"?`},
		{"nothing like it", "vu = 0.0", "qqqqqq = 0.0", `unknown key "qqqqqq" in [alignment]; known are preset, dbfs, dbu, vu`},
		{"wrong type", "line_outputs = 8", `line_outputs = "eight"`, "line 6, column"},
		{"not TOML", "line_outputs = 8", "line_outputs : 8", "line 6, column"},
		{"a key twice", "line_outputs = 8", "line_outputs = 8\nline_outputs = 8", "line_outputs"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read(strings.NewReader(strings.Replace(sound, c.from, c.to, 1)))
			require.Error(t, err)
			assert.Contains(t, err.Error(), c.want)
		})
	}
}

func TestLoadNamesTheFile(t *testing.T) {
	_, err := Load("no-such-rig.toml")
	assert.ErrorContains(t, err, "no-such-rig.toml")
	_, err = Read(strings.NewReader(strings.Repeat("#", maxRigBytes+1)))
	assert.ErrorContains(t, err, "are no rig")
}

// Some editors put a byte order mark before the text and end lines with CR LF (Unicode 15, 23.8).
func TestARigFromAnotherEditor(t *testing.T) {
	plain, err := Read(strings.NewReader(sound))
	require.NoError(t, err)
	marked, err := Read(strings.NewReader("\uFEFF" + strings.ReplaceAll(sound, "\n", "\r\n")))
	require.NoError(t, err)
	assert.Equal(t, plain, marked)
}

// A rig that Validate accepts can be counted, plugged and drawn; no input makes the reader panic.
func FuzzRead(f *testing.F) {
	f.Add(sound)
	f.Add("")
	f.Add("[[interface]]\nline_outputs = 3\nmonitor_pair = [3, 1]\n[summing]\ninputs = 2\n")
	f.Add("[alignment]\npreset = \"EBU R 68\"\ndbfs = nan\n[return]\ninputs = []\n[cables]\n")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := Read(strings.NewReader(text))
		if err != nil {
			if strings.TrimSpace(err.Error()) == "" {
				t.Fatal("an error without words")
			}
			return
		}
		pairs, notes, err := r.Pairs()
		if err != nil {
			var faults Faults
			if errors.As(err, &faults) {
				t.Fatalf("accepted when read, then refused: %v", err)
			}
			return
		}
		checkPairs(t, r, pairs, notes)
	})
}

// checkPairs holds for every sound rig: no output and no summing input twice, none beyond its device, no monitors, not
// more pairs than floor(outputs/2) and half the summing inputs allow, everything left over named.
func checkPairs(t *testing.T, r *Rig, pairs []Pair, notes []string) {
	t.Helper()
	type output struct {
		box string
		n   int
	}
	outs, ins := map[output]bool{}, map[int]bool{}
	most := map[string]int{}
	for _, i := range r.Interfaces {
		most[i.Name] = i.LineOutputs / 2
	}
	for _, p := range pairs {
		i, ok := r.Interface(p.Interface)
		require.True(t, ok)
		most[p.Interface]--
		for side := range 2 {
			o := output{p.Interface, p.Outputs[side]}
			require.False(t, outs[o], "output %v twice", o)
			require.False(t, ins[p.SummingInputs[side]], "summing input %d twice", p.SummingInputs[side])
			outs[o], ins[p.SummingInputs[side]] = true, true
			require.True(t, o.n >= 1 && o.n <= i.LineOutputs)
			require.True(t, p.SummingInputs[side] >= 1 && p.SummingInputs[side] <= r.Summing.Inputs)
			require.False(t, i.HasMonitors() && (o.n == i.MonitorPair[0] || o.n == i.MonitorPair[1]))
		}
	}
	for box, left := range most {
		require.GreaterOrEqual(t, left, 0, box)
	}
	require.LessOrEqual(t, len(pairs), r.Summing.Inputs/2)
	if len(pairs)*2 < r.Summing.Inputs {
		require.Contains(t, strings.Join(notes, "\n"), "unused inputs")
	}
	require.False(t, math.IsNaN(r.PanGain()))
}
