package dynamics

import "math"

const (
	// onsetSlots is how many hops the samples may run ahead of the frames, or the frames ahead of the samples: about
	// 3 min at 43 ms.
	onsetSlots = 4096

	// Chosen by experiment: steady white noise, vibrato and tremolo of 6 dB give no onset but their start, brown noise and
	// narrow-band noise one in 10 s, while strummed guitars and bass lines on rendered multitracks keep theirs.
	riseAlone   = 10  // a rise of the envelope by 10 dB needs no second witness,
	fluxConfirm = 1.0 // a smaller one needs a flux this far above its past, in dB;
	fluxAlone   = 1.2 // a peak of the flux this far above its past needs no envelope
)

// onsets joins the two witnesses. An onset of the envelope in hop h is in the frames h-1 and h; one of the flux in frame
// f is in the hops f and f+1. Samples and frames may come in any order: a hop is decided when both have passed it.
type onsets struct {
	hop     int64
	hops    [onsetSlots]envelopeHop
	frames  [onsetSlots]fluxFrame
	decided int64 // hops decided
	count   int64
}

// envelopeHop holds the onsets of the envelope in one hop. Slots are overwritten, so each bears its number plus one.
type envelopeHop struct {
	number   int64
	onsets   int32
	rise     float32 // largest ratio of energies
	accepted bool
}

type fluxFrame struct {
	number int64
	excess float32
	peak   bool
}

// envelope notes an onset at a sample.
func (o *onsets) envelope(sample int64, rise float64) {
	h := sample / o.hop
	slot := &o.hops[h%onsetSlots]
	if slot.number != h+1 {
		*slot = envelopeHop{number: h + 1}
	}
	slot.onsets++
	slot.rise = max(slot.rise, float32(min(rise, 1e6)))
}

// flux notes by how much the flux of a frame exceeds its past and whether it is a peak.
func (o *onsets) flux(frame int64, excess float32, peak bool) {
	o.frames[frame%onsetSlots] = fluxFrame{number: frame + 1, excess: excess, peak: peak}
}

// settle decides what is complete: samples so far, and frames whose flux has been noted.
func (o *onsets) settle(samples, frames int64) {
	// Frame f ends with hop f+1; its peak is compared with the hops f and f+1, and these need the frames up to f+1.
	for o.decided+3 <= samples/o.hop && o.decided+3 <= frames {
		o.decide(o.decided)
		o.decided++
	}
}

// finish decides the rest. A rise after the last frame counts unconfirmed.
func (o *onsets) finish(samples, frames int64) {
	for ; o.decided <= samples/o.hop; o.decided++ {
		if o.decided > frames {
			o.hops[o.decided%onsetSlots].rise = riseAlone
		}
		o.decide(o.decided)
	}
}

// decide counts the onsets of the envelope in hop h, and the flux peak of frame h-1, whose hops are then both known.
func (o *onsets) decide(h int64) {
	slot := &o.hops[h%onsetSlots]
	if slot.number == h+1 {
		slot.accepted = slot.rise >= riseAlone || max(o.excess(h-1), o.excess(h)) >= fluxConfirm
		if slot.accepted {
			o.count += int64(slot.onsets)
		}
	}
	if f := o.frame(h - 1); f.peak && !o.heard(h-1) && !o.heard(h) {
		o.count++
	}
}

func (o *onsets) frame(f int64) fluxFrame {
	if f >= 0 {
		if slot := o.frames[f%onsetSlots]; slot.number == f+1 {
			return slot
		}
	}
	return fluxFrame{excess: float32(math.Inf(-1))}
}

func (o *onsets) excess(f int64) float32 { return o.frame(f).excess }

func (o *onsets) heard(h int64) bool {
	slot := &o.hops[h%onsetSlots]
	return slot.number == h+1 && slot.accepted
}
