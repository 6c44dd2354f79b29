// Package trace reads the recorded return of a line check and says what every single output does: alive or dead, which
// side it arrives on, gain, polarity, delay, frequency response, distortion, noise, crosstalk; and what the whole loop
// does: latency, drift of the clock, hum, clipping.
//
// In goes a recording and the plan of the tones (package tones), out comes a Result with figures, and a verdict with what
// to do for every finding. The recording may begin and end anywhere, at any gain and polarity, at another rate.
//
// How: the two sync signals are found by a matched filter (recording.go, sync.go), the clock from their distance or, where
// one is missing, from the frequency of the tones (clock.go). Then every output's slot is cut out and deconvolved with a
// sweep made again at the clock of the recording, so that nothing has to be resampled (slot.go).
//
// Delays are in samples of the recording. Gains are return over file in dB. Levels of tones and of hum are in dBFS with
// a full-scale sine at 0 (AES17); noise is plain rms in dBFS, as the measures of tracks have it.
//
// Sources: deconvolution of sweeps after Farina 2000 and Novak et al. 2015; THD relative to the fundamental and THD+N
// relative to the total, within 20 Hz to 20 kHz (AES17); A weighting by the formula of IEC 61672-1; flat noise from 22.4 Hz
// to 22.4 kHz (IEC 60268-1, from memory); twelfth octaves of IEC 61260-1.
package trace
