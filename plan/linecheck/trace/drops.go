package trace

import (
	"math"
	"math/cmplx"

	"foldout/features/align"
	"foldout/plan/linecheck/tones"
)

// A filter cannot make the level of a sweep fall and rise again within milliseconds; a loose contact or a lost buffer
// does. These bound what counts, chosen so that notches of every quality that rings shorter than half a second pass.
const (
	dropFrom   = 150.0   // hertz; below, a period is too long to tell
	dropTo     = 17000.0 // and above, the end of a band may be near
	dropLevels = 0.5     // fall and rise in amplitude
	dropLongS  = 0.7     // the sound is back within so many seconds
	dropStands = 12.0    // the level before, over the noise of the readings
	readingS   = 0.002
)

// sweepDrops follows the sweep through the output and finds moments in which it goes away. x holds the sweep from zero on;
// times are from the start of the slot.
func (t *tracer) sweepDrops(x []float64, zero float64, slot tones.Slot) []dip {
	hop := int(math.Round(readingS * t.clock.scale))
	start, end := t.program.Sweep.TimeOf(dropFrom), t.program.Sweep.TimeOf(dropTo)
	var track []float64
	var times []float64
	periods := func(at float64) int { // readings that hold two periods, at least
		hz := t.program.Sweep.LowHz * math.Exp(at/t.program.Sweep.L)
		return max(1, int(math.Ceil(2/hz/readingS)))
	}
	for at := start; at < end; at += readingS {
		first := int(zero + at*t.clock.scale)
		if first < 0 || first+hop*periods(at) > len(x) {
			break
		}
		sum := complex(0, 0)
		n := hop * periods(at)
		for i := range n {
			phase := t.program.Sweep.Phase((float64(first+i) - zero) / t.clock.scale)
			sum += complex(x[first+i], 0) * cmplx.Rect(2/float64(n), -phase)
		}
		track = append(track, cmplx.Abs(sum))
		times = append(times, at)
	}
	return falls(track, times, periods, dropNoise(track))
}

// dropNoise is the spread of neighbouring readings.
func dropNoise(track []float64) float64 {
	var steps []float64
	for i := 1; i < len(track); i++ {
		steps = append(steps, math.Abs(track[i]-track[i-1]))
	}
	return 1.4826 * align.Median(steps)
}

// falls finds where the track drops to less than half within the length of two readings and comes back as suddenly.
func falls(track, times []float64, periods func(float64) int, noise float64) []dip {
	var out []dip
	for i := 4; i < len(track)-4; i++ {
		m := 2 * periods(times[i])
		if i-m < 0 || i+m >= len(track) {
			continue
		}
		before := align.Median(track[max(0, i-m-8) : i-m+1])
		if before < dropStands*noise || track[i] > dropLevels*before || track[i] > track[i+1] && track[i+1] < 0.8*track[i] {
			continue
		}
		lowest := track[i]
		for k := i + 1; k < len(track)-m && times[k]-times[i] < dropLongS; k++ {
			lowest = min(lowest, track[k])
			back := k + m
			if back < len(track) && track[k] < dropLevels*before && track[back] > 2*track[k] && track[back] > 0.6*before {
				end := k
				for end < back && track[end] < dropLevels*before {
					end++
				}
				out = append(out, dip{at: times[i], seconds: times[end] - times[i], db: 20 * math.Log10(max(lowest, 1e-9)/before)})
				i = back + m
				break
			}
		}
	}
	return out
}

// lookAtDrop tells whether the recording holds nothing at all meanwhile: digital zero on both sides for most of the time,
// and far longer than ever in the silence of the same output. Noise below the last bit is zero now and then, too.
func (t *tracer) lookAtDrop(d *dip, slot tones.Slot, delay float64, usual int) error {
	from := t.clock.place(slot.Start()+d.at) + delay
	x, err := t.rec.cut(int64(from), int64(from+d.seconds*t.clock.scale)+1)
	if err != nil {
		return err
	}
	run := zeroRun(x)
	d.zero = 2*run > len(x[0]) && run > 2*usual
	return nil
}

// zeroRun is the longest run of frames that are zero on all sides.
func zeroRun(x [][]float64) (longest int) {
	run := 0
	for i := range x[0] {
		run++
		for _, y := range x {
			if y[i] != 0 {
				run = 0
			}
		}
		longest = max(longest, run)
	}
	return longest
}

// What the sync signal says of an output that its own turn does not: it sounds four times there.
const (
	chirpClear = 30.0 // height over the noise from which on a chirp that fails is one that failed
	chirpFails = 0.5  // amplitude against the best of the four
	chirpNear  = 0.03 // seconds of delay within which chirps are surely found
)

// chirpsOf counts how often an output should have sounded in the sync signals of this recording, and how often it did; best
// is the amplitude of the loudest time, return over file.
func (t *tracer) chirpsOf(i int) (should, did int, best float64) {
	snr := 0.0
	var gains []float64
	for _, l := range [][]heard{t.first, t.last} {
		if len(l) > 0 {
			should += 2
		}
		for _, h := range l {
			if h.output == i {
				gains, best, snr = append(gains, math.Abs(h.gain)), max(best, math.Abs(h.gain)), max(snr, h.snr)
			}
		}
	}
	if snr < chirpClear {
		return 0, 0, 0
	}
	for _, g := range gains {
		if g > chirpFails*best {
			did++
		}
	}
	return should, did, best
}

// wholeSync says that every chirp lies within the recording.
func (t *tracer) wholeSync() bool {
	return t.clock.place(t.program.First.Span.Start) >= 0 && (len(t.last) == 0 || t.clock.place(t.program.Last.Span.End()) <= float64(t.rec.info.Frames))
}

// soundedInSync says that an output that is silent in its turn sounded in the sync signal like others do.
func (t *tracer) soundedInSync(i int) bool {
	_, did, best := t.chirpsOf(i)
	var all []float64
	for k := range t.slots {
		if _, _, g := t.chirpsOf(k); g > 0 {
			all = append(all, g)
		}
	}
	return did > 0 && best > 0.03*align.Median(all)
}
