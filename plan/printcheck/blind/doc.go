// Package blind is the listening test: can you hear the difference between A and B, or which do you like better, without
// knowing which is which?
//
// In go two excerpts of equal length, out come an http.Handler (package serve guards it) and a saved Result. The number
// of trials is fixed before the first. The order is drawn with crypto/rand and stays on the server: the page learns neither
// the order nor a score before the last answer is given, and a test that is stopped early is not evaluated at all. Both
// excerpts are served equally loud, each time with fresh dither of the last bit, so that equal files do not look equal.
// What cannot be helped: the page has to play X, so a program that compares the samples could find out. It is a test for
// people who want to know.
//
//	binomial.go  exact probabilities, what they mean in words
//	sound.go     two files to two equally loud excerpts, and to WAV
//	test.go      a test from its first trial to its result
//	handler.go   the test over HTTP
//	page/        the page
package blind
