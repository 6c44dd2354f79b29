package dynamics

import "math"

// onsetMarks is how many hops the samples may run ahead of the frames, or the frames ahead of the samples: about 3 min.
const onsetMarks = 4096

// onsets joins the two sources. Every onset of the envelope counts; an onset of the flux counts when the envelope has
// none within one hop of the middle of its frame: a change of note without a rise in energy. Samples and frames may
// come in any order.
type onsets struct {
	hop     int64
	marks   [onsetMarks]int64 // hop number plus one of the latest envelope onset in the slot
	pending [onsetMarks]int64 // frames with a flux onset that the samples have not reached
	first   int               // of pending
	waiting int
	count   int64
}

// envelope notes an onset at a sample.
func (o *onsets) envelope(sample int64) {
	h := sample / o.hop
	o.marks[h%onsetMarks] = h + 1
	o.count++
}

// flux notes an onset in a frame. Frame f begins at hop f and its middle is where hop f+1 begins.
func (o *onsets) flux(frame int64) {
	if o.waiting == onsetMarks {
		o.settle(math.MaxInt64)
	}
	o.pending[(o.first+o.waiting)%onsetMarks] = frame
	o.waiting++
}

// settle decides the frames that end before the given sample.
func (o *onsets) settle(sample int64) {
	for o.waiting > 0 {
		f := o.pending[o.first]
		if (f+2)*o.hop > sample {
			return
		}
		heard := false
		for h := f; h < f+2; h++ {
			heard = heard || o.marks[h%onsetMarks] == h+1
		}
		if !heard {
			o.count++
		}
		o.first = (o.first + 1) % onsetMarks
		o.waiting--
	}
}
