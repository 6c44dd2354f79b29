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

	noveltyConfirm = 0.2 // the same of the novelty
	noveltyAlone   = 0.25

	belongs = 3 // a peak of the novelty belongs to the onset so many hops before it, if no other does
)

// onsets joins the three witnesses. An onset of the envelope in hop h is in the frames h-1 and h; one of the flux in frame
// f is in the hops f and f+1; one of the novelty in frame f, which is the first without the sound before, in f-1 and f. Samples and frames may come in any order: a hop is decided when both have passed it.
type onsets struct {
	hop     int64
	hops    [onsetSlots]envelopeHop
	frames  [onsetSlots]fluxFrame
	decided int64 // hops decided
	shown   int64 // hop of the last onset of the envelope or the flux, plus one,
	open    bool  // of which the novelty has not told yet
	heard   int64 // hop of the last onset that the novelty or the flux alone told of, plus one
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
	fresh  float32 // novelty
	new    bool    // and whether it is a peak
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

// frame notes by how much the flux of a frame exceeds its past and whether it is a peak, and the same of its novelty.
func (o *onsets) frame(frame int64, excess float32, peak bool, fresh float32, isNew bool) {
	o.frames[frame%onsetSlots] = fluxFrame{number: frame + 1, excess: excess, peak: peak, fresh: fresh, new: isNew}
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

// decide counts the onsets of the envelope in hop h, then the flux peak of frame h-1 and the new sound of frame h-2, whose
// hops are then known.
func (o *onsets) decide(h int64) {
	slot := &o.hops[h%onsetSlots]
	if slot.number == h+1 {
		fresh := max(o.noted(h-1).fresh, o.noted(h).fresh, o.noted(h+1).fresh)
		slot.accepted = slot.rise >= riseAlone || max(o.excess(h-1), o.excess(h)) >= fluxConfirm || fresh >= noveltyConfirm
		if slot.accepted {
			o.count += int64(slot.onsets)
			o.shown, o.open = h+1, true
		}
	}
	if o.noted(h-1).peak && o.shown < h-1 && o.heard < h-1 {
		o.heard = h
		o.shown = h
		o.count++
		o.open = true
	}
	if f := h - 2; o.noted(f).new {
		if o.open && o.shown > f-belongs {
			o.open = false // the same onset
		} else if f >= max(o.shown, o.heard) { // what another witness told of meanwhile is not told twice
			o.heard = f + 1
			o.count++
		}
	}
}

func (o *onsets) noted(f int64) fluxFrame {
	if f >= 0 {
		if slot := o.frames[f%onsetSlots]; slot.number == f+1 {
			return slot
		}
	}
	return fluxFrame{excess: float32(math.Inf(-1))}
}

func (o *onsets) excess(f int64) float32 { return o.noted(f).excess }
