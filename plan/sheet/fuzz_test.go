package sheet

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzRead feeds arbitrary bytes as a sheet: a refusal in words, or a sheet that hangs together and reads back, once written,
// as the same sheet.
func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"schema":2,"pairs":[{"name":"Drums","outputs":[1,2],"tracks":[{"file":"a.wav","bus":"Drums"}]},{}]}`))
	f.Add([]byte("\xEF\xBB\xBF" + `{"schema":1,"pairs":[{"outputs":[3,4],"tracks":[{"file":"\ud800"},{"file":"b\u0000.wav"}]}]}`))
	f.Add([]byte(`{"schema":2,"figures":{"pairs":[{"loudness_lufs":null}]},"pairs":[{}],"set_aside":[{"file":"x"}]}`))
	f.Add([]byte(`{"schema":2,"pairs":[{"outputs":[1e308,-1]}]}`))
	f.Add([]byte(`{"schema":2,"pairs":` + strings.Repeat("[", 50)))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Read(bytes.NewReader(data))
		if err != nil {
			require.NotEmpty(t, strings.TrimSpace(err.Error()))
			require.NotContains(t, err.Error(), "Go ")
			return
		}
		require.NotEmpty(t, s.Pairs)
		files := map[string]bool{}
		for _, p := range s.Pairs {
			for _, track := range p.Tracks {
				require.NotEmpty(t, track.File)
				require.False(t, files[track.File], "twice")
				files[track.File] = true
			}
		}
		for _, row := range s.Manual().Rows {
			require.True(t, files[row.Track])
			require.LessOrEqual(t, row.Pair, len(s.Pairs))
		}
		first, err := json.Marshal(s)
		require.NoError(t, err)
		again, err := Read(bytes.NewReader(first))
		require.NoError(t, err)
		second, err := json.Marshal(again)
		require.NoError(t, err)
		require.JSONEq(t, string(first), string(second))
	})
}

// A table of starts is refused with a reason, or gives tracks with starts within a day.
func FuzzReadStarts(f *testing.F) {
	for _, s := range []string{"file,start\na.wav,0:01:12.5\n", "track;start_samples\r\n\"a\";600000\r\n", "\ufeffname\toffset\nb\t12,5 s\n", "file,start\na,-1\n", "file,start\na,1e9\n", "\xff\xfef\x00"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		rows, err := ReadStarts(bytes.NewReader(data))
		if err != nil {
			require.NotEmpty(t, strings.TrimSpace(err.Error()))
			return
		}
		require.NotEmpty(t, rows)
		for _, r := range rows {
			require.NotEmpty(t, r.Track)
			for _, rate := range []int{8000, 384000} {
				require.GreaterOrEqual(t, r.At(rate), int64(0))
				require.LessOrEqual(t, r.At(rate), int64(LatestStartS*768000))
			}
		}
	})
}
