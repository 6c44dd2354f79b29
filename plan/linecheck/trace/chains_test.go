package trace

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/linecheck/simulate"
	"foldout/plan/linecheck/tones"
	"foldout/testdata/underrace"
)

// The long version: go test ./plan/linecheck/trace -run Chains -chains 200 -timeout 2h. In pieces: -chains 50 -from 0, 50 ...
var (
	chains = flag.Int("chains", 6, "how many random loops to try in the tests of faults; half as many clean ones")
	from   = flag.Int("from", 0, "number of the first loop; for clean ones half of it")
)

// howMany is fewer in the short tests, which run under the race detector.
func howMany() int {
	if testing.Short() {
		return min(*chains, 2)
	}
	return *chains
}

// trial is one random loop with what was done to it.
type trial struct {
	plan   *tones.Plan
	chain  simulate.Chain
	more   float64
	format wavfile.Encoding
	did    []string
	checks []func(*Result) string
	faulty map[int]bool // outputs of which findings are expected, from 0; -1 the whole loop
	gains  bool         // of two outputs one may come back at another gain
	loud   bool         // all outputs together may go beyond full scale
}

// cleanTrial is a loop as a healthy studio has it.
func cleanTrial(rng *rand.Rand) *trial {
	rate := []int{44100, 48000, 48000, 96000}[rng.IntN(4)]
	t := &trial{plan: planOf(1+rng.IntN(3), rate), more: 0.5 + 3*rng.Float64(), faulty: map[int]bool{}}
	t.format = []wavfile.Encoding{wavfile.PCM16, wavfile.PCM24, wavfile.Float32}[rng.IntN(3)]
	t.chain = simulate.Chain{Latency: 3 * rng.Float64() * float64(rate), NoiseDBFS: -76 - 24*rng.Float64(), CrosstalkDB: -65 - 30*rng.Float64(), GainDB: -1 + 2*rng.Float64(), Seed: rng.Uint64()}
	t.more += t.chain.Latency / float64(rate)
	for range t.plan.Sends {
		t.chain.Paths = append(t.chain.Paths, simulate.Path{GainDB: 0.2*rng.Float64() - 0.1, Second: 0.02 * rng.Float64(), Third: -0.02 * rng.Float64(), Iron: 0.02 * rng.Float64(), LowCutHz: 2 + 3*rng.Float64(), Delay: 0.3 * rng.Float64()})
	}
	return t
}

func (t *trial) run(tb testing.TB) *Result {
	path := record(tb, t.plan, t.chain, t.more, t.format)
	r, err := Trace(context.Background(), path, t.plan, Options{})
	require.NoError(tb, err, "%v", t.did)
	return r
}

func (t *trial) note(format string, args ...any) { t.did = append(t.did, fmt.Sprintf(format, args...)) }

// expect asks for a verdict of a severity about an output (-1: the whole loop), and for a figure.
func (t *trial) expect(output int, severity, what string, got func(*Result) float64, want, within float64) {
	t.faulty[output] = true
	t.checks = append(t.checks, func(r *Result) string {
		found := false
		for _, v := range r.Verdicts {
			found = found || v.at(r) == output && v.Severity == severity
		}
		if !found {
			return fmt.Sprintf("%s at %d: no %s; verdicts %v", what, output+1, severity, texts(r))
		}
		if got != nil {
			if g := got(r); !(math.Abs(g-want) <= within) {
				return fmt.Sprintf("%s at %d: %g, want %g within %g", what, output+1, g, want, within)
			}
		}
		return ""
	})
}

// at is the index of the output that a verdict is about, -1 for the whole loop.
func (v *Verdict) at(r *Result) int {
	return slices.IndexFunc(r.Channels, func(c Channel) bool { return v.Output != nil && c.Output == *v.Output })
}

// expectGain asks for what is to be said of an output whose gain is off. With more than two outputs that is a verdict about it.
// Of two outputs nothing tells which is off: the one that comes back farther from unity is named, as far off as the two
// differ, and held against the other; and of one that is left alone nothing is said.
func (t *trial) expectGain(i int, severity, what string) {
	want := t.chain.Paths[i].GainDB
	gain := func(r *Result) float64 { return float64(r.Channels[i].GainDB) - t.chain.GainDB }
	if len(t.plan.Sends) > 2 {
		t.expect(i, severity, what, gain, want, 0.1)
		return
	}
	t.gains = true
	t.checks = append(t.checks, func(r *Result) string {
		if g := gain(r); !(math.Abs(g-want) <= 0.1) {
			return fmt.Sprintf("%s at %d: %g, want %g", what, i+1, g, want)
		}
		where, severity := t.farther(r)
		for k := range r.Channels {
			said := ""
			for _, v := range r.Verdicts {
				if v.at(r) == k && aboutGain(v) {
					said = v.Severity
				}
			}
			if k == where && said != severity || k != where && said != "" {
				return fmt.Sprintf("%s at %d: %q said of the gain of output %d; verdicts %v", what, i+1, said, k+1, texts(r))
			}
		}
		return ""
	})
}

// farther is the output of two that comes back farther from unity and what its distance from the other calls for; -1 where
// both lie within the tolerance, or one is dead.
func (t *trial) farther(r *Result) (output int, severity string) {
	if t.chain.Paths[0].Dead || t.chain.Paths[1].Dead {
		return -1, ""
	}
	a, b := float64(r.Channels[0].GainDB), float64(r.Channels[1].GainDB)
	if math.Abs(b) > math.Abs(a) {
		output = 1
	}
	switch d := math.Abs(a - b); {
	case d > faultDB:
		return output, Fault
	case d > 2*r.ToleranceDB: // up to that each is within the tolerance of the middle
		return output, Warning
	}
	return -1, ""
}

// aboutGain tells a verdict about the gain of one of two outputs, which says that it is held against the other alone.
func aboutGain(v Verdict) bool {
	return strings.Contains(v.Text, " alone: of two, nothing tells which is off")
}

func texts(r *Result) []string {
	var out []string
	for _, v := range r.Verdicts {
		if v.Severity != OK {
			out = append(out, v.Severity+": "+v.Text)
		}
	}
	return out
}

func between01(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

func either(rng *rand.Rand, v float64) float64 {
	if rng.IntN(2) == 0 {
		return -v
	}
	return v
}

// sickness is one way to break a loop. One that breaks an output takes its index.
type sickness struct {
	name  string
	whole bool
	do    func(t *trial, rng *rand.Rand, i int)
}

var sicknesses = []sickness{
	{"dead", false, func(t *trial, _ *rand.Rand, i int) {
		t.chain.Paths[i].Dead = true
		t.expect(i, Fault, "dead", func(r *Result) float64 { return truth(!*r.Channels[i].Alive) }, 1, 0)
	}},
	{"inverted", false, func(t *trial, _ *rand.Rand, i int) {
		t.chain.Paths[i].Invert = true
		t.expect(i, Fault, "inverted", func(r *Result) float64 { return truth(r.Channels[i].Polarity == "inverted") }, 1, 0)
	}},
	{"off", false, func(t *trial, rng *rand.Rand, i int) {
		g := either(rng, between01(rng, 1.8, 12))
		t.chain.Paths[i].GainDB = g
		t.note("%.2f dB", g)
		t.loud = g > 6
		t.expectGain(i, Fault, "gain")
	}},
	{"trim", false, func(t *trial, rng *rand.Rand, i int) {
		g := either(rng, between01(rng, 0.65, 1.3))
		t.chain.Paths[i].GainDB = g
		t.note("%.2f dB", g)
		t.expectGain(i, Warning, "trim")
	}},
	{"other side", false, func(t *trial, _ *rand.Rand, i int) {
		t.chain.Paths[i].Other = true
		t.expect(i, Fault, "side", func(r *Result) float64 { return truth(r.Channels[i].Side == []string{"right", "left"}[i%2]) }, 1, 0)
	}},
	{"both sides", false, func(t *trial, _ *rand.Rand, i int) {
		t.chain.Paths[i].Both = true
		t.expect(i, Fault, "both", func(r *Result) float64 { return truth(r.Channels[i].Side == "both") }, 1, 0)
	}},
	{"late", false, func(t *trial, rng *rand.Rand, i int) {
		d := between01(rng, 3, 900)
		t.chain.Paths[i].Delay = d
		t.note("%.3f samples", d)
		// Held against a healthy output: what a filter does to the phase is a delay, too, and no one's in particular.
		t.expect(i, Warning, "delay", func(r *Result) float64 {
			for j, p := range t.chain.Paths {
				if j != i && !p.Dead && p.LowCutHz < 10 && p.HighCutHz == 0 {
					return float64(r.Channels[i].DelaySamples-r.Channels[j].DelaySamples) - (d - p.Delay)
				}
			}
			return 0
		}, 0, 0.02)
		late := t.checks[len(t.checks)-1]
		t.checks[len(t.checks)-1] = func(r *Result) string {
			if len(t.plan.Sends) > 2 || !t.chain.Paths[1-i].Dead {
				return late(r)
			}
			if c := r.Channels[i]; c.DelaySamples != 0 || slices.ContainsFunc(r.Verdicts, func(v Verdict) bool { return v.at(r) == i && v.Severity != OK }) {
				return fmt.Sprintf("output %d is left alone: %g samples late; verdicts %v", i+1, float64(c.DelaySamples), texts(r))
			}
			return ""
		}
	}},
	{"even distortion", false, func(t *trial, rng *rand.Rand, i int) {
		a := between01(rng, 0.2, 0.5)
		t.chain.Paths[i].Second = a
		t.note("%.2f", a)
		// closed form: H2/H1 = a2 A / 2, A the peak at the path
		t.expect(i, Warning, "THD", func(r *Result) float64 {
			return float64(r.Channels[i].THDPercent) / (50 * a * math.Pow(10, (-18+t.chain.Paths[i].GainDB)/20))
		}, 1, 0.1)
	}},
	{"odd distortion", false, func(t *trial, rng *rand.Rand, i int) {
		a := -between01(rng, 3.5, 6)
		t.chain.Paths[i].Third = a
		t.gains = t.gains || len(t.plan.Sends) == 2 // it comes back softer, too
		t.note("%.2f", a)
		t.expect(i, Warning, "THD", func(r *Result) float64 {
			A := math.Pow(10, (-18+t.chain.Paths[i].GainDB)/20)
			return float64(r.Channels[i].THDPercent) / (100 * math.Abs(a) * A * A / 4 / (1 + 0.75*a*A*A))
		}, 1, 0.1)
	}},
	{"dull", false, func(t *trial, rng *rand.Rand, i int) {
		hz := between01(rng, 4000, 10000)
		t.chain.Paths[i].HighCutHz = hz
		t.note("%.0f Hz", hz)
		t.expect(i, Warning, "dull", nil, 0, 0)
	}},
	{"thin", false, func(t *trial, rng *rand.Rand, i int) {
		hz := between01(rng, 90, 250)
		t.chain.Paths[i].LowCutHz = hz
		t.note("%.0f Hz", hz)
		t.expect(i, Warning, "thin", func(r *Result) float64 { return float64(r.Channels[i].LowHz) / hz }, 1, 0.1)
	}},
	{"loose contact", false, func(t *trial, rng *rand.Rand, i int) {
		s := t.plan.Program().Slots[i]
		span := []tones.Span{{Start: s.Sweep.Start + 1.5, Seconds: 1.5}, {Start: s.Tone.Start + 0.2, Seconds: 0.7}}[rng.IntN(2)]
		g := simulate.Gap{At: t.chain.Latency/float64(t.plan.RateHz) + span.Start + span.Seconds*0.6*rng.Float64(), Seconds: between01(rng, 0.01, 0.15)}
		t.chain.Paths[i].Gaps = append(t.chain.Paths[i].Gaps, g)
		t.note("at %.3f for %.3f s", g.At, g.Seconds)
		t.expect(i, Fault, "gap", func(r *Result) float64 { return float64(r.Channels[i].Dropouts) }, 1, 0)
	}},
	{"comes and goes", false, func(t *trial, rng *rand.Rand, i int) {
		p := t.plan.Program()
		at := append(append([]float64(nil), p.First.At[i]...), p.Last.At[i]...)[rng.IntN(4)]
		t.chain.Paths[i].Gaps = append(t.chain.Paths[i].Gaps, simulate.Gap{At: t.chain.Latency/float64(p.RateHz) + at - 0.05, Seconds: 0.25})
		t.expect(i, Fault, "comes and goes", nil, 0, 0)
	}},
	{"all inverted", true, func(t *trial, _ *rand.Rand, _ int) {
		t.chain.Invert = true
		for i := range t.plan.Sends {
			t.faulty[i] = true
		}
		t.faulty[-1] = true
		t.checks = append(t.checks, func(r *Result) string {
			for i, c := range r.Channels {
				if want := map[bool]string{true: "normal", false: "inverted"}[t.chain.Paths[i].Invert]; *c.Alive && c.Polarity != want {
					return fmt.Sprintf("output %d: polarity %s", c.Output, c.Polarity)
				}
			}
			return ""
		})
	}},
	{"return swapped", true, func(t *trial, _ *rand.Rand, _ int) {
		t.chain.Swap = true
		for i := range t.plan.Sends {
			t.faulty[i] = true
		}
		t.faulty[-1] = true
		t.checks = append(t.checks, func(r *Result) string {
			for i, c := range r.Channels {
				want := []string{"right", "left"}[i%2]
				if t.chain.Paths[i].Other {
					want = []string{"left", "right"}[i%2]
				}
				if t.chain.Paths[i].Both {
					want = "both"
				}
				if *c.Alive && c.Side != want {
					return fmt.Sprintf("output %d: side %s", c.Output, c.Side)
				}
			}
			return ""
		})
	}},
	{"noise", true, func(t *trial, rng *rand.Rand, _ int) {
		n := between01(rng, -66, -45)
		t.chain.NoiseDBFS = n
		t.note("%.1f dBFS", n)
		// the band of flat noise is not all of the band of the file
		share := 10 * math.Log10(min(1, (noiseHighHz-noiseLowHz)/(float64(t.plan.RateHz)/2)))
		t.expect(-1, Warning, "noise", func(r *Result) float64 { return float64(r.NoiseDBFS) }, n+share, 0.5)
	}},
	{"hum", true, func(t *trial, rng *rand.Rand, _ int) {
		t.chain.HumHz, t.chain.HumDBFS = []float64{50, 60, 49.95, 60.04}[rng.IntN(4)], between01(rng, -74, -50)
		t.note("%.2f Hz %.1f dBFS", t.chain.HumHz, t.chain.HumDBFS)
		// the fundamental and a tenth of its power in the third harmonic
		t.expect(-1, Warning, "hum", func(r *Result) float64 { return float64(r.Hum.DBFS) }, t.chain.HumDBFS+10*math.Log10(1.1), 0.6)
		t.checks = append(t.checks, func(r *Result) string {
			if r.Hum == nil || math.Abs(r.Hum.Hz-t.chain.HumHz) > 0.1 {
				return fmt.Sprintf("hum %+v", r.Hum)
			}
			return ""
		})
	}},
	{"drift", true, func(t *trial, rng *rand.Rand, _ int) {
		p := either(rng, math.Exp(between01(rng, math.Log(1.5), math.Log(500))))
		t.chain.DriftPPM = p
		t.more += 0.1
		t.note("%.3f ppm", p)
		t.expect(-1, Warning, "drift", func(r *Result) float64 { return r.DriftPPM }, p, 0.05)
	}},
	{"clipped", true, func(t *trial, rng *rand.Rand, _ int) {
		t.chain.GainDB = 24
		t.chain.ClipAt = 1
		t.faulty[-1] = true
		for i := range t.plan.Sends {
			t.faulty[i] = true // what is clipped distorts, too
		}
		t.expect(-1, Fault, "clipped", func(r *Result) float64 { return truth(r.ClippedSamples > 1000) }, 1, 0)
	}},
	{"crosstalk", true, func(t *trial, rng *rand.Rand, _ int) {
		x := between01(rng, -58, -25)
		t.chain.CrosstalkDB = x
		t.note("%.1f dB", x)
		for i := range t.plan.Sends {

			t.faulty[i] = true
			t.checks = append(t.checks, func(r *Result) string {
				if c := r.Channels[i]; *c.Alive && c.Side != "both" && math.Abs(float64(c.CrosstalkDB)-x) > 1 {
					return fmt.Sprintf("crosstalk of %d: %g", c.Output, float64(c.CrosstalkDB))
				}
				return ""
			})
		}
	}},
	{"cut short", true, func(t *trial, rng *rand.Rand, _ int) {
		p := t.plan.Program()
		t.more = t.chain.Latency/float64(p.RateHz) - (p.Seconds() - p.Slots[len(p.Slots)-1].End()) + between01(rng, 0.2, 1)
		t.faulty[-1] = true
		t.checks = append(t.checks, func(r *Result) string {
			if r.Complete || math.Abs(r.DriftPPM-t.chain.DriftPPM) > 0.3 {
				return fmt.Sprintf("complete %v, drift %g", r.Complete, r.DriftPPM)
			}
			return ""
		})
	}},
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// contradict says of two sicknesses that the second would undo the first or hide it.
func contradict(a, b sickness) bool {
	has := func(x, y string) bool { return a.name == x && b.name == y || a.name == y && b.name == x }
	return a.name == b.name ||
		has("clipped", "off") || has("clipped", "trim") || has("clipped", "even distortion") || has("clipped", "odd distortion") || has("clipped", "dull") || has("clipped", "thin") ||
		has("clipped", "noise") || has("clipped", "crosstalk") || has("clipped", "hum") || has("clipped", "drift") || has("noise", "crosstalk") || has("noise", "hum") || has("comes and goes", "cut short") || has("comes and goes", "loose contact") || has("inverted", "all inverted") || has("other side", "return swapped")
}

// A recording that stops anywhere says what it holds, or is refused; it never breaks the analysis.
func TestRecordingsThatStopAnywhere(t *testing.T) {
	underrace.Skip(t)
	p := planOf(1, 48000)
	chain := simulate.Chain{Latency: 2000, NoiseDBFS: -90}
	for _, seconds := range []float64{0.3, 0.9, 1.3, 2, 4, 8} {
		r, err := Trace(context.Background(), record(t, p, chain, seconds-p.Program().Seconds(), wavfile.PCM24), p, Options{})
		if err != nil {
			assert.ErrorContains(t, err, "does not hold", "%g s", seconds)
			continue
		}
		assert.False(t, r.Complete, "%g s", seconds)
		assert.Nil(t, r.Channels[1].Alive, "%g s", seconds)
		_, err = json.Marshal(r)
		assert.NoError(t, err)
	}
}

// TestChainsClean: healthy loops draw no complaint.
func TestChainsClean(t *testing.T) {
	for n := range max(1, howMany()/2) {
		k := *from/2 + n
		rng := rand.New(rand.NewPCG(uint64(k), 1))
		tr := cleanTrial(rng)
		r := tr.run(t)
		assert.Empty(t, texts(r), "loop %d: %+v", k, tr.chain)
		earliest := math.Inf(1)
		for _, p := range tr.chain.Paths {
			earliest = min(earliest, p.Delay)
		}
		for i, c := range r.Channels {
			p := tr.chain.Paths[i]
			assert.InDelta(t, p.Delay-earliest, float64(c.DelaySamples), 0.02, "loop %d output %d", k, i+1)
			assert.InDelta(t, p.GainDB+tr.chain.GainDB, float64(c.GainDB), 0.03)
		}
		assert.InDelta(t, tr.chain.Latency+earliest, float64(r.LatencySamples), 0.05)
	}
}

// TestChainsSick: every fault, alone and in pairs, is found where it is, as large as it is, and nothing else is.
func TestChainsSick(t *testing.T) {
	underrace.Skip(t)
	for n := range howMany() {
		k := *from + n
		rng := rand.New(rand.NewPCG(uint64(k), 2))
		tr := cleanTrial(rng)
		first := sicknesses[k%len(sicknesses)]
		list := []sickness{first}
		if k >= len(sicknesses) || rng.IntN(3) == 0 {
			for len(list) < 2 {
				s := sicknesses[rng.IntN(len(sicknesses))]
				if !contradict(s, first) && !(s.name == "late" && first.name == "loose contact") {
					list = append(list, s)
				}
			}
		}
		places := rng.Perm(len(tr.plan.Sends))
		for n, s := range list {
			i := places[n%len(places)]
			tr.note("%s at %d", s.name, i+1)
			s.do(tr, rng, i)
		}
		r := tr.run(t)
		for _, check := range tr.checks {
			if said := check(r); said != "" {
				t.Errorf("loop %d, %d outputs at %d Hz, %v: %s\n%+v", k, len(tr.plan.Sends), tr.plan.RateHz, tr.did, said, tr.chain)
			}
		}
		for _, v := range r.Verdicts {
			where := v.at(r)
			expected := tr.faulty[where] || tr.loud && where < 0 && (strings.HasPrefix(v.Text, "The return goes beyond full scale") || strings.HasPrefix(v.Text, "The return clips"))
			if tr.gains && aboutGain(v) {
				far, _ := tr.farther(r)
				expected = where == far
			}
			if v.Severity != OK && v.Severity != Note && !expected {
				t.Errorf("loop %d, %d outputs at %d Hz, %v: false alarm: %s\n%+v", k, len(tr.plan.Sends), tr.plan.RateHz, tr.did, v.Text, tr.chain)
			}
		}
	}
}
