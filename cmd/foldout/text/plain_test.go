package text

import (
	"testing"

	"foldout/plan/sheet"

	"github.com/stretchr/testify/assert"
)

// Sequences as ECMA-48 has them; the names are invented.
func TestControlCharactersDoNotReachTheTerminal(t *testing.T) {
	for in, want := range map[string]string{
		"Kick In":                    "Kick In",
		"Kick\x1b[31m\x07\u202e\x7f": "Kick[31m",
		"a\tb\r\nc":                  "a b \nc",
		"\x1b[1mBold\x1b[0m\x1b[2J":  "\x1b[1mBold\x1b[0m[2J",
		"日本語 👩‍🎤":                    "日本語 👩‍🎤",
		"\u009b31mred":               "31mred",
	} {
		assert.Equal(t, want, tame(in))
	}
	assert.Equal(t, "a  b", sheet.Printable("a\r\nb"))
}

func TestLongLinesBreakBetweenWords(t *testing.T) {
	assert.Equal(t, "  - one two\n      three\nfour\n", wrapLines("  - one two three\nfour  \n", 16))
	assert.Equal(t, " a\nb", trimLines(" a  \nb "))
}
