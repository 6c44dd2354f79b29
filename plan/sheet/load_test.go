package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Sheets edited by hand; all invented.
func TestSheetsThatCannotBeReadSayWhy(t *testing.T) {
	for text, want := range map[string]string{
		"":                              "the file is empty",
		" \n":                           "the file is empty",
		"track,pair\nKick,1\n":          "faulty JSON",
		`[1, 2]`:                        "something else",
		`{"schema":9,"pairs":[]}`:       "schema 9",
		`{"schema":1,"pairs":[]}`:       "no pairs",
		`{"schema":1,"pairs":["Drum"]}`: `"pairs" holds a string`,
		`{"schema":1,"pairs":[{"outputs":"1/2"}]}`:                                           `"pairs.outputs" holds a string`,
		`{"schema":1,"pairs":[{"outputs":[-1,2]}]}`:                                          "pair 1 is on outputs -1/2",
		`{"schema":1,"pairs":[{"tracks":[{"file":""}]}]}`:                                    "without a file",
		`{"schema":1,"pairs":[{"tracks":[{"file":"a.wav"}]},{"tracks":[{"file":"a.wav"}]}]}`: "a.wav is on pair 1 and on pair 2",
	} {
		_, err := Read(strings.NewReader(text))
		require.Error(t, err, text)
		assert.Contains(t, err.Error(), want)
		assert.NotContains(t, err.Error(), "Go ")
	}
	_, err := Read(strings.NewReader("\uFEFF" + `{"schema":1,"pairs":[{"outputs":[1,2]}]}`))
	assert.NoError(t, err, "a byte order mark does no harm")
}
