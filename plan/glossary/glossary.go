// Package glossary explains every measure and word that the program shows: unit, formula, how to read it, source.
package glossary

import (
	"strings"
)

// Term explains one measure or word.
type Term struct {
	Word    string `json:"word"`
	Unit    string `json:"unit"`    // "" for a pure number or a word
	Formula string `json:"formula"` // in words
	Reading string `json:"reading"` // how to read it
	Source  string `json:"source"`
}

const (
	bs1770  = "ITU-R BS.1770-5"
	ownRule = "this program"
	trade   = "common practice, no source"
)

// glossary lists every measure shown anywhere, in the order of the work: levels, spectrum, time, stereo, kinship, folds.
var glossary = []Term{
	{"integrated loudness", "LUFS", "mean power of the K-weighted signal in blocks of 400 ms, leaving out blocks below -70 LUFS and those more than 10 LU below the rest", "how loud the whole track is to the ear; 1 LU is 1 dB", bs1770},
	{"momentary loudness", "LUFS", "K-weighted mean power over the last 400 ms; the highest is shown", "the loudest beat", "EBU Tech 3341"},
	{"short-term loudness", "LUFS", "K-weighted mean power over the last 3 s; the highest is shown", "the loudest phrase", "EBU Tech 3341"},
	{"loudness range", "LU", "distance from the 10th to the 95th percentile of gated short-term loudness", "a few LU: steady; above 15: verse and chorus are far apart", "EBU Tech 3342"},
	{"sample peak", "dBFS", "largest sample, 0 dBFS being full scale", "how near the file is to its end stop", trade},
	{"true peak", "dBTP", "largest value of the waveform between the samples, found by oversampling", "what a converter must pass; above 0 it clips though no sample does", bs1770 + ", Annex 2"},
	{"rms", "dBFS", "root of the mean square; a full-scale sine reads -3.01", "the level a slow meter shows, but for frequency weighting", trade},
	{"crest factor", "dB", "sample peak over rms while the track sounds", "3 a sine, around 12 a voice, above 18 drums: how spiky a sound is", trade},
	{"peak to loudness", "dB", "true peak less integrated loudness", "as the crest factor, measured by the ear's weighting", "AES TD1004"},
	{"vu", "dB", "highest deflection of a meter that takes 300 ms to 99 % of a steady tone, re a full-scale sine", "what the needle of an analogue unit shows", "IEC 60268-17"},
	{"dc offset", "", "mean of the samples as a part of full scale", "above 0.001 something is wrong with a converter or an effect", trade},
	{"clipped runs", "", "runs of samples that stand still at the track's end stop", "more than none: listen to it", ownRule},
	{"noise floor", "dBFS", "level in the quietest stretches", "what is there when nobody plays", ownRule},
	{"active", "%", "part of the time during which the track sounds", "low for a part of one section, high for one that plays through", ownRule},
	{"centroid", "Hz", "mean frequency of the long-term power spectrum, weighted by power", "where the weight of a sound lies: kick 100 Hz, voice 1 kHz, hat 6 kHz", "Peeters 2004"},
	{"spectral spread", "Hz", "standard deviation of frequency around the centroid, weighted by power", "small: one register; large: the whole spectrum", "Peeters 2004"},
	{"rolloff", "Hz", "frequency below which 85 % of the power lies", "how far up a sound reaches", "Peeters 2004"},
	{"flatness", "", "geometric over arithmetic mean of the power spectrum", "0 a tone, 1 noise", "Peeters 2004"},
	{"octave bands", "dB", "power in the octaves around 31.5 Hz to 16 kHz, re the track's total", "the shape of a sound, whatever its level", "IEC 61260-1"},
	{"register", "Hz", "sub below 60, low 60-250, low-mid 250-500, mid 500-2000, upper-mid 2000-4000, presence 4000-8000, air above", "where in the spectrum a sound has its place", trade},
	{"onset rate", "/s", "onsets counted in the envelope and confirmed by spectral flux, per second while the track sounds", "a pad has none, a shaker ten", ownRule},
	{"attack", "s", "median time from 10 % to 90 % of the rise at an onset", "a drum takes a few milliseconds, bowed strings a tenth of a second", "Peeters 2004"},
	{"decay", "s", "median time to fall 20 dB, extrapolated from the first 10", "short: damped or percussive", ownRule},
	{"transient to sustain", "dB", "power just after onsets over power between them", "high: struck; low: held", ownRule},
	{"tonality", "", "part of the power that a median filter along time keeps rather than one along frequency", "0 percussive, 1 harmonic", "FitzGerald 2010 (harmonic-percussive separation by median filtering)"},
	{"correlation", "", "of left and right, -1 to 1", "1 mono, 0 wide, below 0 trouble in mono", trade},
	{"side to mid", "dB", "power of (left - right) over that of (left + right)", "minus infinity mono, 0 as much side as middle", trade},
	{"balance", "dB", "power of left over right", "0 in the middle", trade},
	{"coherence", "", "mean magnitude-squared coherence of two tracks at their best lag, 0 to 1", "near 1: one performance on two tracks", "Carter, Knapp and Nuttall 1973"},
	{"share of energy", "%", "part of one track's power that is another's, seen through a linear filter with a tail", "high: an effect return or a sum that holds the other", ownRule},
	{"tie", "", "two tracks that carry one performance: copies, sides, parallels, returns", "tied tracks share a pair, unless you part them", ownRule},
	{"role", "", "kick, snare, bass, lead vocal ...: what the name says and the sound suggests, as probabilities", "a percentage says how sure; names outweigh ears where they speak", ownRule},
	{"bus", "", "tracks of one kind within a pair", "a pair is a short list of buses; a bus leaves through one pair only", trade},
	{"pair", "", "two line outputs used as left and right", "eight outputs are four pairs", trade},
	{"return", "", "the stereo input where the summed signal comes back into the computer", "what is heard on it is the mix; never route it to a pair, it would feed itself", trade},
	{"print", "", "the recording of the return", "it holds what the unit did, and is made in real time", trade},
	{"trim", "dB", "a gain set once, ahead of the unit, so that a pair arrives at the operating level", "not a fader: set it, write it down, leave it", trade},
	{"operating level", "dBu", "the level that a unit is built for, where its meter reads 0 VU; +4 dBu in most studios", "below it noise, far above it distortion and clipping", trade},
	{"comb filter", "", "a sound added to itself a time t later: notches at 1/(2t), 3/(2t), 5/(2t) ..., equal levels assumed", "hollow, like through a pipe; 1 ms puts the first notch at 500 Hz", "Oppenheim and Schafer, from memory"},
	{"latency", "samples", "how much later the return is than what was sent: converters out and in, and the computer's buffers", "the same for all pairs of one interface; what does not go through the unit is early by so much", trade},
	{"line check", "", "test tones through every output, the return recorded and read", "shows dead, swapped, inverted and unequal lines before the song does", trade},
	{"tail", "s", "what still sounds after the last note: decay, reverb, delay", "a print ends after it, not before", trade},
	{"recall sheet", "", "every setting of a session that no file holds, written down", "with it the sound comes back next year", trade},
	{"confidence", "%", "how often the track stayed on its pair when the fold was repeated with uncertain guesses of what each track is", "below 50: listen and decide yourself", ownRule},
	{"spread within pairs", "", "weighted mean squared distance of the tracks from the middle of their pair, in the space of roles and measures", "0: all alike; compare folds of one session only", ownRule},
	{"silhouette", "", "for each track (b - a) / max(a, b), a being its mean distance to the others on its pair, b that to the nearest other pair; the mean of all", "1 well apart, 0 between two pairs, below 0 misplaced", "Rousseeuw 1987"},
	{"gap statistic", "", "how much less the tracks scatter in k groups than shapeless data would", "the natural number of groups, if there is one", "Tibshirani, Walther and Hastie 2001"},
	{"register overlap", "%", "per octave band: what other tracks, by level and active time and less 6 dB, would cover of the track's power there; mean over bands by the track's energy, then over tracks", "inside: how much a pair's tracks lie over one another; across: how much pairs fight for the same register", "after the masked-to-unmasked ratio: Vega and Janer 2010, Aichinger et al. 2011"},
	{"level spread", "dB", "integrated loudness of the loudest pair's sum less that of the quietest", "small: all channels of the unit work alike, before trims", ownRule},
	{"loudest pair", "dB", "integrated loudness of the loudest pair's sum less that of the sum of all", "0: one pair carries everything; -6: 6 dB of headroom won", ownRule},
	{"crowding", "", "tracks on the fullest pair over an even share", "1 even; above 2 one pair carries most of the session", ownRule},
	{"modulation by neighbours", "%", "through a soft channel y = x + a2 x^2 + a3 x^3 a soft track passes with the gain 1 + 2 a2 z + 3 a3 z^2, z being the other tracks of its pair; the modulation index by their low notes, exceeded 5 % of the time", "heard from about 5 %; a kick with 0.1 % of second harmonic makes 0.4 %; explain --lesson measures it", "expansion of the power series; threshold: Viemeister 1979, from memory"},
	{"added to mask", "dB", "what all channels add, but for changes of gain, over the masked threshold of the whole mix, mean over Bark bands, middle frame", "below 0 it is covered; it hardly depends on how tracks are grouped", "slopes of masking: Terhardt 1979"},
	{"family", "", "tracks of one bus: drums, percussion, bass, electric guitars, acoustic guitars, keys, synths, strings, horns, lead vocals, backing vocals", "an engineer with pairs to spare gives each family its own", trade},
	{"misfit", "%", "probability that a track is on no pair where its role is at home, homes being found from all tracks of the sheet together", "from 40 on it is called out of place, from 20 on worth a look", "sampled as by Geman and Geman 1984"},
}

// Glossary returns all terms.
func Glossary() []Term { return append([]Term(nil), glossary...) }

// LookUp returns the terms that a word fits: those of that name, else those whose name holds it.
func LookUp(word string) []Term {
	want := strings.ToLower(strings.Join(strings.Fields(strings.ReplaceAll(word, "-", " ")), " "))
	var exact, part []Term
	for _, t := range glossary {
		name := strings.ReplaceAll(t.Word, "-", " ")
		switch {
		case name == want:
			exact = append(exact, t)
		case want != "" && strings.Contains(name, want):
			part = append(part, t)
		}
	}
	if len(exact) > 0 {
		return exact
	}
	return part
}
