package tones

import (
	"encoding/json"
	"io"
	"math"
)

// Sound is all that one output plays.
type Sound struct {
	rate  float64
	parts []part
}

type part struct {
	span Span
	gain float64
	at   func(t float64) float64 // t from the start of the span
}

// Sound makes the sound of an output, counted from 0.
func (p *Plan) Sound(output int) *Sound {
	g, n := p.Program(), len(p.Sends)
	s := &Sound{rate: float64(p.RateHz)}
	amp := math.Pow(10, p.ToneDBFS()/20)
	shared := amp * math.Pow(10, togetherDB(n)/20)
	add := func(span Span, gain float64, at func(float64) float64) {
		s.parts = append(s.parts, part{span, gain, at})
	}
	for _, sync := range []Sync{g.First, g.Last} {
		for _, at := range sync.At[output] {
			add(Span{at, ChirpSeconds}, amp, func(t float64) float64 { return Chirp(t, sync.Rising) })
		}
	}
	slot := g.Slots[output]
	add(slot.Sweep, amp, g.Sweep.At)
	add(slot.Tone, amp, func(t float64) float64 { return Tone(t, slot.Tone.Seconds, 0) })
	add(slot.Multitone, amp, Multitone(slot.Multitone.Seconds, output, n))
	add(g.Together, shared, Multitone(g.Together.Seconds, output, n))
	add(g.LongTone, shared, func(t float64) float64 { return Tone(t, g.LongTone.Seconds, LongTonePhase(output, n)) })
	return s
}

// Read fills dst with the sound from a frame on.
func (s *Sound) Read(dst []float64, frame int64) { s.ReadAt(dst, float64(frame), 1) }

func newEncoder(w io.Writer) *json.Encoder {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e
}

// ReadAt fills dst with the sound at start, start+step, start+2 step and so on, in frames that need not be whole: the
// sound is computed there, not interpolated.
func (s *Sound) ReadAt(dst []float64, start, step float64) {
	clear(dst)
	from, to := start/s.rate, (start+step*float64(len(dst)))/s.rate
	for _, p := range s.parts {
		if p.span.End() < from || p.span.Start > to {
			continue
		}
		first := max(0, int((p.span.Start*s.rate-start)/step)-1)
		last := min(len(dst), int((p.span.End()*s.rate-start)/step)+2)
		for i := first; i < last; i++ {
			dst[i] += p.gain * p.at((start+step*float64(i))/s.rate-p.span.Start)
		}
	}
}
