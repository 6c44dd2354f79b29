package dynamics

import "math"

// Result holds the figures of one track. Levels are the highest of any channel. They are in dB re a constant of 1, so a
// full-scale sine has an rms of -3.01 dB. Silence gives levels of minus infinity and zeros elsewhere.
//
// Figures that are ratios, shares or times do not change with gain or polarity as long as the track stays above the
// absolute gate of -70 dBFS.
type Result struct {
	Frames       int64   // samples per channel
	SamplePeakDB float64 // 20 log10 of the largest |x|
	RMSDB        float64 // 10 log10 of the mean of x^2 over the whole track, offset included
	ActiveRMSDB  float64 // the same over the time that the gate is open; minus infinity if it never is

	// CrestDB is SamplePeakDB - ActiveRMSDB, >= 0: 3.01 for a sine, 0 for a square wave. PlainCrestDB is SamplePeakDB - RMSDB.
	// Both are 0 on silence; CrestDB falls back on the plain one when the gate never opens.
	CrestDB      float64
	PlainCrestDB float64

	DCOffset float64 // mean of x, fraction of full scale with its sign, of the channel where it is largest

	// ClippedRuns counts runs of 3 or more samples at or beyond full scale (32767/32768), or equal to the extreme value
	// of their side of the waveform while entering or leaving it with a jump. A square wave cannot be told from clipping.
	ClippedRuns int

	// NoiseFloorDB is the level that 5 % of the 50 ms stretches stay below, stretches below -130 dBFS left out: the
	// noise between the notes if there is any between, the quietest playing otherwise. Minus infinity on silence.
	NoiseFloorDB float64

	// ActiveShare is the part of the track, 0..1, during which it sounds. The gate works on stretches of 50 ms without
	// their mean; it opens GateDB and closes 6 dB below. GateDB lies 30 dB below the level where half of the energy of
	// the track is in louder stretches, and not below -70 dBFS.
	ActiveShare float64
	GateDB      float64
	Silent      bool // the gate never opened: digital silence, hiss below -70 dBFS, or a constant

	VUMaxDB float64 // highest deflection, see VU

	// OnsetRateHz is the number of onsets a second of playing: gate open, or closed for less than 1 s; at least 1 s in
	// all. Onsets are rises of 4 dB of the 5 ms energy envelope, at least 40 ms apart, that the spectral flux (Boeck and
	// Widmer 2013) or new partials confirm or that reach 10 dB; and peaks of the flux, or of the part of the spectrum that
	// is new (novelty.go), where the envelope shows none. A sound that is there from the first sample has its onset there.
	OnsetRateHz float64
	Onsets      int64

	// AttackS is the median over the onsets of the envelope of the time the amplitude takes from 10 to 90 % of its rise,
	// in seconds. An instant start reads 4 ms, the envelope's own. 0 without onsets that the track shows: a sound that is there
	// from the first sample has none. After Peeters 2004.
	AttackS float64

	// DecayS is the median over the same onsets of the time to fall by 20 dB after the peak, in seconds, taken as twice the time of the first
	// 10 dB; notes cut short before are extrapolated from the fall there was, at least 3 dB; 10 s at most. 0 where nothing
	// decayed: without onsets, and where more notes fell by less than 3 dB (in 2 s, or until the next) than by more.
	DecayS float64

	// TransientToSustainDB is the median over the same onsets of the mean energy of the first 25 ms over that of 50 to
	// 150 ms, in dB, -60..60. 0 for a tone that starts at once and stays; also 0 without onsets. No published source.
	TransientToSustainDB float64

	// Tonality is the harmonic share of the power up to about 6 kHz, 0..1, by medians over time and frequency
	// (FitzGerald 2010): 1 for a steady tone, 0 for a click, 0.5 for steady noise. 0 on silence.
	Tonality float64

	PerChannel []ChannelLevels
}

// ChannelLevels holds the figures of one channel, defined as in Result.
type ChannelLevels struct {
	SamplePeakDB, RMSDB, DCOffset, VUMaxDB float64
	ClippedRuns                            int
}

func powerDB(p float64) float64 {
	if p <= 0 {
		return math.Inf(-1)
	}
	return 10 * math.Log10(p)
}

func (m *Meter) figures() Result {
	r := Result{Frames: m.samples, GateDB: m.gate.threshold(), NoiseFloorDB: m.gate.noiseFloor(), VUMaxDB: math.Inf(-1),
		PerChannel: make([]ChannelLevels, len(m.channels))}
	open := above(&m.gate.open, r.GateDB)
	r.Silent = open == 0
	n := math.Max(float64(m.samples), 1)
	r.ActiveShare = open / n
	peak, square, active := 0.0, 0.0, 0.0
	for c := range m.channels {
		ch := &m.channels[c]
		p := float64(max(ch.high, -ch.low))
		l := ChannelLevels{SamplePeakDB: powerDB(p * p), RMSDB: powerDB(ch.square / n), DCOffset: ch.sum / n,
			VUMaxDB: vuDB(ch.vu.highest), ClippedRuns: ch.clip.count()}
		r.PerChannel[c] = l
		peak, square = max(peak, p), max(square, ch.square/n)
		r.ClippedRuns += l.ClippedRuns
		r.VUMaxDB = max(r.VUMaxDB, l.VUMaxDB)
		if math.Abs(l.DCOffset) > math.Abs(r.DCOffset) {
			r.DCOffset = l.DCOffset
		}
		if open > 0 {
			active = max(active, above(&m.gate.channels[c], r.GateDB)/open)
		}
	}
	r.SamplePeakDB, r.RMSDB, r.ActiveRMSDB = powerDB(peak*peak), powerDB(square), powerDB(active)
	if square > 0 {
		r.PlainCrestDB = r.SamplePeakDB - r.RMSDB
		r.CrestDB = r.PlainCrestDB
		if active > 0 {
			r.CrestDB = r.SamplePeakDB - r.ActiveRMSDB
		}
	}
	if r.Silent {
		return r
	}
	phraseS := above(&m.gate.phrase, r.GateDB) / float64(m.rate)
	r.Onsets = m.onsets.count
	r.OnsetRateHz = float64(r.Onsets) / max(phraseS, 1)
	r.AttackS, r.DecayS = m.events.attack.median(), m.events.decayS()
	r.TransientToSustainDB = m.events.ratioDB()
	r.Tonality = m.tonality.share()
	return r
}
