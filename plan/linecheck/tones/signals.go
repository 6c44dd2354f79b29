package tones

import "math"

// The chirps of the sync signal.
const (
	ChirpSeconds = 0.12
	ChirpLowHz   = 400.0
	ChirpHighHz  = 4500.0
	chirpFade    = 0.008
)

// Chirp is the chirp of the sync signal t seconds after its start: a linear glide with peak 1, faded at its ends, 0
// outside.
func Chirp(t float64, rising bool) float64 {
	if t < 0 || t > ChirpSeconds {
		return 0
	}
	fade := fadeIn(min(t, ChirpSeconds-t), chirpFade)
	if !rising {
		t = ChirpSeconds - t
	}
	return fade * math.Sin(2*math.Pi*(ChirpLowHz*t+(ChirpHighHz-ChirpLowHz)/(2*ChirpSeconds)*t*t))
}

// Sweep is an exponential sweep whose phase makes the harmonics of the start frequency start together with it.
type Sweep struct {
	LowHz, HighHz float64 // where it begins and ends; whole level from 18 Hz to 20 kHz, or 0.93 of HighHz if that is lower
	L             float64 // seconds in which the frequency grows by the factor e
	Seconds       float64
}

const (
	sweepLowHz = 14.0
	sweepTopHz = 22000.0
	fullLowHz  = 18.0
	fullShare  = 0.93
)

// NewSweep makes a sweep of about so many seconds for a sample rate.
func NewSweep(rateHz int, seconds float64) Sweep {
	s := Sweep{LowHz: sweepLowHz, HighHz: min(sweepTopHz, 0.485*float64(rateHz))}
	octaves := math.Log(s.HighHz / s.LowHz)
	s.L = math.Round(s.LowHz*seconds/octaves) / s.LowHz // Novak et al. 2015, eq. 47
	s.Seconds = s.L * octaves
	return s
}

// At is the sweep t seconds after its start, peak 1, 0 outside.
func (s Sweep) At(t float64) float64 {
	if t < 0 || t > s.Seconds {
		return 0
	}
	fade := fadeIn(t, s.L*math.Log(fullLowHz/s.LowHz)) * fadeIn(s.Seconds-t, -s.L*math.Log(fullShare))
	return fade * math.Sin(2*math.Pi*s.LowHz*s.L*math.Exp(t/s.L))
}

// Phase is the phase of the sweep in radians, t seconds after its start.
func (s Sweep) Phase(t float64) float64 { return 2 * math.Pi * s.LowHz * s.L * math.Exp(t/s.L) }

// TimeOf is when the sweep passes a frequency, in seconds.
func (s Sweep) TimeOf(hz float64) float64 { return s.L * math.Log(hz/s.LowHz) }

// Advance is by how much the response of a harmonic comes before the linear one after deconvolution: L ln(order).
func (s Sweep) Advance(order int) float64 { return s.L * math.Log(float64(order)) }

// ToneHz is the frequency of the tone at operating level.
const ToneHz = 1000.0

const toneFade = 0.02

// Tone is 1 kHz of peak 1 within a span of so many seconds, with a start phase in radians, faded at its ends.
func Tone(t, seconds, phase float64) float64 {
	if t < 0 || t > seconds {
		return 0
	}
	return fadeIn(min(t, seconds-t), toneFade) * math.Sin(2*math.Pi*ToneHz*t+phase)
}

// LongTonePhase is the start phase of an output (from 0) in the long tone. The outputs of one side are spread over half a
// circle: whatever is dead or inverted, they never cancel.
func LongTonePhase(output, outputs int) float64 {
	return math.Pi * float64(output/2) / float64(max(1, (outputs+1)/2))
}

// MultitoneCount is how many tones an output has of its own.
const MultitoneCount = 6

const (
	multitoneLowHz  = 80.0
	multitoneHighHz = 10000.0
)

// MultitoneHz are the tones of an output (from 0), no two outputs share one.
func MultitoneHz(output, outputs int) [MultitoneCount]float64 {
	var hz [MultitoneCount]float64
	for k := range hz {
		share := (float64(k*outputs+output) + 0.5) / float64(MultitoneCount*outputs)
		hz[k] = multitoneLowHz * math.Pow(multitoneHighHz/multitoneLowHz, share)
	}
	return hz
}

// Multitone makes a function of time, in seconds from its start: the tones of an output at once, each of peak 1/sqrt(6),
// so that their rms is that of a sine of peak 1.
func Multitone(seconds float64, output, outputs int) func(t float64) float64 {
	list := MultitoneHz(output, outputs)
	return func(t float64) float64 {
		if t < 0 || t > seconds {
			return 0
		}
		sum := 0.0
		for k, hz := range list {
			sum += math.Sin(2*math.Pi*hz*t + math.Pi*float64(k*k)/MultitoneCount) // phases after Newman 1965, for a low crest
		}
		return fadeIn(min(t, seconds-t), toneFade) * sum / math.Sqrt(MultitoneCount)
	}
}

// fadeIn rises from 0 to 1 within so many seconds, as a squared sine.
func fadeIn(t, seconds float64) float64 {
	if t >= seconds {
		return 1
	}
	s := math.Sin(math.Pi / 2 * max(0, t) / seconds)
	return s * s
}
