package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Starts as people write them; what they mean follows from 60 seconds a minute and 60 minutes an hour.
func TestStartsAreReadAsPeopleWriteThem(t *testing.T) {
	for text, want := range map[string]int64{
		"0": 0, "12.5": 600000, "12,5 s": 600000, "+3": 144000, "0:12.5": 600000, "1:02": 62 * 48000, "90:00": 5400 * 48000,
		"1:01:01.5": 3661*48000 + 24000, "600000 samples": 600000, "1 sample": 1, "7 smp": 7,
	} {
		rows, err := ReadStarts(strings.NewReader("file;start\nLate.wav;" + text + "\n"))
		require.NoError(t, err, text)
		assert.Equal(t, want, rows[0].At(48000), text)
		assert.Equal(t, "Late.wav", rows[0].Track)
	}
	rows, err := ReadStarts(strings.NewReader("Notes,START_SAMPLES,Track\n,4801,A\nlate,,B\n"))
	require.NoError(t, err)
	require.Len(t, rows, 1, "a row without a start is left out")
	assert.EqualValues(t, 4801, rows[0].At(96000))
	rows, err = ReadStarts(strings.NewReader("\ufeffDatei;Versatz\r\nGitarre;\"0,5\"\r\n"))
	require.NoError(t, err)
	assert.EqualValues(t, 22050, rows[0].At(44100))
}

func TestStartsThatCannotBeMeant(t *testing.T) {
	for text, want := range map[string]string{
		"file,start\nA,-1\n":                     "0 or later",
		"file,start\nA,1:60\n":                   "59 seconds",
		"file,start\nA,1:60:00\n":                "59 minutes",
		"file,start\nA,01:00:00:12\n":            "want seconds",
		"file,start\nA,soon\n":                   "want seconds",
		"file,start\nA,NaN\n":                    "want seconds",
		"file,start\nA,1e9\n":                    "want seconds",
		"file,start\nA,86401\n":                  "later than a day",
		"file,start\nA,12,5\n":                   "more cells",
		"file,samples\nA,1.5\n":                  "want seconds",
		"file,samples\nA,99999999999999999999\n": "value out of range",
		"file,start\n":                           "no starts",
		"track,pair\nA,1\n":                      "columns file and start",
		"":                                       "columns file and start",
	} {
		_, err := ReadStarts(strings.NewReader(text))
		assert.ErrorContains(t, err, want, "%q", text)
	}
}
