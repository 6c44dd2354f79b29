// Package align finds how one signal lies against another: delay to a small part of a sample, gain, polarity, drift of
// the clock; and it moves signals by parts of a sample.
//
// In go planes of float64 of one sample rate. Delays are in samples, positive when y is later than x: y[n] is about
// gain * x[n - delay]. A gain below 0 means inverted polarity. Drift is in parts per million, positive when y is too
// long. Signals may be filtered and distorted on the way; what is found is then the delay that fits the phase over the
// band best, each frequency weighted by how surely x and y belong together there.
//
// Peak finds the lag at which a correlation peaks, Slope the delay from the phase of a transfer function, FitLine the drift
// from delays at several times, and Interpolator reads any place between samples.
//
// Sources: Knapp and Carter 1976 (IEEE Trans. ASSP-24, 320-327) for delay from correlation and phase; Smith and Gossett
// 1984 (ICASSP) for interpolation by a windowed sinc; Theil 1950 and Sen 1968 for the line that outliers do not move.
package align
