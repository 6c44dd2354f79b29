// Package tones makes the test tones of a line check: one stereo WAV for each pair of line outputs, all of one length and
// started together, by which package trace afterwards tells from the recorded return what every single output does.
//
// In goes how many outputs there are and how they are called (Sends), out come the files and a plan of them (Plan, kept
// as tones.json beside the files). When each sound begins is said by Program; the sounds themselves are functions of
// time (Chirp, Sweep, Tone, Multitone), so that whoever analyses a recording can make them again at the rate and the
// clock of that recording.
//
// The order in time: silence; a sync signal, in which every output sounds twice in turn; for each output a slot of its
// own with an exponential sweep, 1 kHz at operating level, a few tones at once, silence; all outputs together with tones
// of their own; silence; a long 1 kHz; the sync signal again with falling chirps.
//
// Sweep: Farina 2000 (108th AES Convention, paper 5093), synchronised after Novak, Lotton and Simon 2015 (JAES 63(10),
// 786-798). Digital levels are in dBFS with a full-scale sine at 0 (AES17).
package tones
