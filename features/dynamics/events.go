package dynamics

import "math"

// Rules for onsets on the energy envelope, in steps of about 5 ms. Chosen by experiment on rendered multitracks.
const (
	ringSteps = 512 // of memory

	onsetNear     = 3    // a step is compared with the loudest of the steps onsetFar..onsetNear before it
	onsetFar      = 9    //
	onsetRise     = 2.5  // and is an onset when 4 dB louder,
	gapNear       = 2    // or, after a short gap, with the 15 ms that end so many steps before it,
	gapFar        = 4    // (how far it rose is told from the softest 15 ms that end gapFar..gapNear before it: from 5 on beating tones count)
	gapRise       = 10.0 // when 10 dB louder; in both cases
	onsetGap      = 8    // 40 ms or more after the last onset,
	onsetBelow    = 1e-4 // not 40 dB below the loudest step so far,
	onsetAbsolute = 1e-7 // and above -70 dBFS

	attackWait = 8   // the peak is found when 40 ms brought nothing louder
	attackMost = 100 // or after 500 ms
	attackSeen = 3   // steps

	decayHold = 5   // ripple of low notes is bridged by the loudest of 5 steps: good down to 20 Hz
	decayMost = 400 // 2 s
	decayCapS = 10.0

	decayLeastDB = 3.0

	transientSteps = 5  // 25 ms from the onset
	sustainFrom    = 10 // 50 ms
	sustainTo      = 30 // 150 ms
	sustainLeast   = 5
	ratioCap       = 1e6 // 60 dB
	ratioScale     = 1. / 64
)

// events follows the energy envelope, finds onsets and measures each.
type events struct {
	stepS float64
	ring  [ringSteps]float64
	n     int64 // steps so far
	top   float64
	count int64
	now   event

	attack, decay spread // seconds
	held          int64  // notes that did not fall
	ratio         spread // transient over sustain as an amplitude ratio times ratioScale, to fit the range of spread
}

// event is the onset being followed.
type event struct {
	onset, peak                      int64
	before, gap, first, peakEnergy   float64 // energies; gap is the softest 15 ms of the steps before
	trough                           float64 // lowest energy since the peak
	cursor                           int64   // next step to look at for the decay
	held                             float64
	attackDone, decayDone, ratioDone bool
}

// rise is the ratio of energies at the onset, against what was there before or the softest moment since; infinite after silence.
func (e *event) rise() float64 { return e.first / min(e.before, e.gap) }

func (ev *events) at(n int64) float64 {
	if n < 0 {
		return 0
	}
	return ev.ring[n&(ringSteps-1)]
}

// hold is the loudest of the steps n-2..n: 15 ms, which bridges the ripple of tones down to 20 Hz.
func (ev *events) hold(n int64) float64 { return max(ev.at(n-2), ev.at(n-1), ev.at(n)) }

func (ev *events) loudest(from, to int64) float64 {
	e := 0.0
	for k := from; k <= to; k++ {
		e = max(e, ev.at(k))
	}
	return e
}

// softest is the least that hold gives from step from to step to.
func (ev *events) softest(from, to int64) float64 {
	e := ev.hold(to)
	for k := from; k < to; k++ {
		e = min(e, ev.hold(k))
	}
	return e
}

// push takes the energy of the next step and tells whether an onset is in it.
func (ev *events) push(e float64) bool {
	n := ev.n
	ev.ring[n&(ringSteps-1)] = e
	ev.n++
	ev.top = max(ev.top, e)
	if e > onsetAbsolute && e > ev.top*onsetBelow && ev.ready(n) {
		if before, ok := ev.risen(n, e); ok {
			ev.finish(n - 1)
			ev.count++
			ev.now = event{onset: n, peak: n, before: before, gap: ev.softest(n-gapFar, n-gapNear), first: e, peakEnergy: e, trough: e}
			return true
		}
	}
	if ev.count > 0 {
		ev.follow(n, e)
	}
	return false
}

// risen tells whether the energy e of step n is a rise, and from where.
func (ev *events) risen(n int64, e float64) (before float64, ok bool) {
	if before = ev.loudest(n-onsetFar, n-onsetNear); e > before*onsetRise {
		return before, true
	}
	before = ev.hold(n - gapNear)
	return before, e > before*gapRise
}

// ready tells whether step n may be a new onset: the last one lies back far enough and its rise is over.
func (ev *events) ready(n int64) bool {
	now := &ev.now
	return ev.count == 0 || n-now.onset >= onsetGap && (now.attackDone || now.trough < now.peakEnergy/2)
}

// follow goes on with the present event after step n of energy e.
func (ev *events) follow(n int64, e float64) {
	now := &ev.now
	if !now.attackDone {
		if e > now.peakEnergy {
			now.peak, now.peakEnergy, now.trough = n, e, e
		}
		now.trough = min(now.trough, ev.hold(n))
		if n-now.peak >= attackWait || n-now.onset >= attackMost {
			ev.endAttack()
		}
	}
	if now.attackDone && !now.decayDone {
		ev.fall(n)
	}
	if !now.ratioDone && n >= now.onset+sustainTo-1 {
		ev.endRatio(n)
	}
}

// finish closes the present event after step n: a new onset or the end of the track cut it short.
func (ev *events) finish(n int64) {
	if ev.count == 0 {
		return
	}
	now := &ev.now
	if !now.attackDone {
		ev.endAttack()
	}
	if !now.decayDone {
		ev.fall(n)
		if !now.decayDone {
			ev.endDecayEarly()
		}
	}
	if !now.ratioDone {
		ev.endRatio(n)
	}
}

// endAttack measures the time from 10 to 90 % of the rise in amplitude, straight lines between the steps.
func (ev *events) endAttack() {
	now := &ev.now
	now.attackDone = true
	now.cursor, now.held = now.peak+1, now.peakEnergy
	if now.onset == 0 && ev.loudest(0, attackSeen-1) >= now.peakEnergy/2 {
		return // it sounds from the first sample: the file does not hold how it began
	}
	base := math.Sqrt(now.before)
	rise := math.Sqrt(now.peakEnergy) - base
	low, high := base+0.1*rise, base+0.9*rise
	k := now.peak
	for k > now.onset-onsetFar && math.Sqrt(ev.at(k)) > low {
		k--
	}
	start := ev.crossing(k, low)
	for k < now.peak && math.Sqrt(ev.at(k+1)) < high {
		k++
	}
	ev.attack.add(max(ev.crossing(k, high)-start, 0.5) * ev.stepS)
}

// crossing is where the amplitude passes level between the steps k and k+1.
func (ev *events) crossing(k int64, level float64) float64 {
	a, b := math.Sqrt(ev.at(k)), math.Sqrt(ev.at(k+1))
	if b <= a {
		return float64(k)
	}
	return float64(k) + min(max((level-a)/(b-a), 0), 1)
}

// fall looks for the step where the envelope is 10 dB below the peak, as far as step n allows.
func (ev *events) fall(n int64) {
	now := &ev.now
	for ; now.cursor+decayHold-1 <= n; now.cursor++ {
		held := ev.loudest(now.cursor, now.cursor+decayHold-1)
		if held <= 0.1*now.peakEnergy {
			from, to := ev.fallDB(now.held), ev.fallDB(held)
			t := float64(now.cursor-1-now.peak) + (10-from)/(to-from)
			ev.decay.add(min(2*t*ev.stepS, decayCapS))
			now.decayDone = true
			return
		}
		now.held = held
		if now.cursor-now.peak >= decayMost {
			ev.endDecayEarly()
			return
		}
	}
}

// fallDB is how far e lies below the peak, 60 dB at most.
func (ev *events) fallDB(e float64) float64 {
	return -10 * math.Log10(max(e/ev.now.peakEnergy, 1e-6))
}

// endDecayEarly extrapolates from what there was; a fall of less than decayLeastDB is none.
func (ev *events) endDecayEarly() {
	now := &ev.now
	now.decayDone = true
	t := float64(now.cursor - 1 - now.peak)
	if t < decayHold {
		return // too short to tell
	}
	if fall := ev.fallDB(now.held); fall >= decayLeastDB {
		ev.decay.add(min(t*ev.stepS*20/fall, decayCapS))
	} else {
		ev.held++
	}
}

// endRatio compares the first 25 ms with 50..150 ms, or as much of it as there is.
func (ev *events) endRatio(n int64) {
	now := &ev.now
	now.ratioDone = true
	if n-(now.onset+sustainFrom)+1 < sustainLeast {
		return
	}
	transient, sustain := 0.0, 0.0
	for k := now.onset; k < now.onset+transientSteps; k++ {
		transient += ev.at(k)
	}
	// The note may have begun late in its first step.
	transient = max(transient, transient-ev.at(now.onset)+ev.at(now.onset+transientSteps))
	last := min(n, now.onset+sustainTo-1)
	for k := now.onset + sustainFrom; k <= last; k++ {
		sustain += ev.at(k)
	}
	transient /= transientSteps
	sustain /= float64(last - now.onset - sustainFrom + 1)
	r := ratioCap
	if sustain*ratioCap > transient {
		r = max(transient/sustain, 1/ratioCap)
	}
	ev.ratio.add(math.Sqrt(r) * ratioScale)
}

// decayS is the median of the decays; 0 where most notes did not fall.
func (ev *events) decayS() float64 {
	if ev.held > ev.decay.total {
		return 0
	}
	return ev.decay.median()
}

// ratioDB is the median of transient over sustain; 0 without onsets.
func (ev *events) ratioDB() float64 {
	r := ev.ratio.median()
	if r == 0 {
		return 0
	}
	return 20 * math.Log10(r/ratioScale)
}
