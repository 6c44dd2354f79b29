package tones

// Span is a part of the files, in seconds from their first sample.
type Span struct{ Start, Seconds float64 }

// End is where a span ends, in seconds.
func (s Span) End() float64 { return s.Start + s.Seconds }

// Slot is what one output plays alone.
type Slot struct{ Sweep, Tone, Multitone, Silence Span }

// Start and End bound a slot, in seconds.
func (s Slot) Start() float64 { return s.Sweep.Start }

// End is where the silence of a slot ends, in seconds.
func (s Slot) End() float64 { return s.Silence.End() }

// Program says when what sounds. It follows from rate, number of outputs and Quick alone.
type Program struct {
	RateHz      int
	Outputs     int
	Quick       bool
	Sweep       Sweep
	First, Last Sync // the sync signal at the beginning, with rising chirps, and at the end, with falling ones
	Slots       []Slot
	Together    Span // all outputs at once, each with tones of its own
	Silence     Span
	LongTone    Span
	Frames      int64
}

// Sync is a pattern of chirps: At[i][k] is when output i (from 0) begins its k-th chirp. The gaps are uneven, so that the
// pattern fits itself at one place only, also when outputs are dead.
type Sync struct {
	Span   Span
	At     [][]float64
	Rising bool
}

const (
	headSeconds = 0.5
	restSeconds = 0.5 // between the sections
	tailSeconds = 1.0
	chirpGap    = 0.030
	gapSteps    = 11 // uneven gaps are 0..10 steps longer
	gapStep     = 0.005
)

// NewProgram lays the program out: under 90 s for 8 outputs with quick, under 4 minutes for 16 without.
func NewProgram(rateHz, outputs int, quick bool) *Program {
	p := &Program{RateHz: rateHz, Outputs: outputs, Quick: quick}
	sweep, afterSweep, tone, multitone, silence, together, long := 5.5, 0.7, 2.0, 1.0, 1.0, 3.0, 8.0
	if quick {
		sweep, afterSweep, tone, multitone, silence, together, long = 3.5, 0.6, 1.2, 0.7, 0.8, 2.0, 4.0
	}
	p.Sweep = NewSweep(rateHz, sweep)
	at := p.grid(headSeconds)
	p.First = newSync(at, outputs, true)
	at = p.grid(p.First.Span.End() + restSeconds)
	const pause = 0.2
	for range outputs {
		var s Slot
		s.Sweep = Span{at, p.Sweep.Seconds}
		s.Tone = Span{p.grid(s.Sweep.End() + afterSweep), tone}
		s.Multitone = Span{p.grid(s.Tone.End() + pause), multitone}
		s.Silence = Span{p.grid(s.Multitone.End() + 2*pause), silence}
		p.Slots = append(p.Slots, s)
		at = p.grid(s.Silence.End() + 0.1)
	}
	p.Together = Span{at, together}
	p.Silence = Span{p.grid(p.Together.End() + 2*pause), silence}
	p.LongTone = Span{p.grid(p.Silence.End()), long}
	p.Last = newSync(p.grid(p.LongTone.End()+restSeconds), outputs, false)
	p.Frames = int64((p.Last.Span.End() + tailSeconds) * float64(rateHz))
	return p
}

// Seconds is the length of the files.
func (p *Program) Seconds() float64 { return float64(p.Frames) / float64(p.RateHz) }

// grid moves a time to the next hundredth of a second, which is a whole sample at every rate that is offered.
func (p *Program) grid(t float64) float64 { return float64(int64(t*100+0.999999)) / 100 }

// newSync lets every output chirp twice: 1 to n, then n to 1.
func newSync(start float64, outputs int, rising bool) Sync {
	s := Sync{At: make([][]float64, outputs), Rising: rising}
	at := start
	for k := range 2 * outputs {
		i := k
		if k >= outputs {
			i = 2*outputs - 1 - k
		}
		s.At[i] = append(s.At[i], at)
		q := k + 1
		if !rising {
			q += 5
		}
		at += ChirpSeconds + chirpGap + gapStep*float64(q*q*q%97%gapSteps)
	}
	s.Span = Span{start, at - start}
	return s
}
