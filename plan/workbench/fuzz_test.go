package workbench

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Whatever a journal holds, it is read without harm, what it gives fits together, and a further act is found behind it.
func FuzzJournal(f *testing.F) {
	head := `{"schema":2,"folder":"/song"}` + "\n"
	for _, s := range []string{"", head, head + `{"put":[{"n":0,"step":{"name":"a","choice":{"pairs":[{}]}}}],"len":1,"at":0}` + "\n",
		head + `{"put":[{"n":0,"step":{"name":"a","choice":{}}}],"len":1,"at":0,"version":{"name":"v","choice":{}}}` + "\n" + `{"len":1,"at":0}` + "\n" + `{"pu`,
		head + `{"put":[{"n":7,"step":{"choice":{}}}],"len":-1,"at":9}`, "null\n[]\n", head + "\x00\n{}"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		path := filepath.Join(t.TempDir(), "j")
		require.NoError(t, os.WriteFile(path, data, 0o600))
		k := &keeper{folder: "/song", path: path}
		history, at, err := k.read()
		if err != nil {
			return
		}
		require.NotEmpty(t, history)
		require.True(t, at >= 0 && at < len(history))
		for _, e := range history {
			require.NotNil(t, e.Choice)
		}
		more := append(history[:at+1:at+1], entry{Name: "more", Choice: &Choice{Title: "more"}})
		require.NoError(t, k.write(more, at+1))
		after := &keeper{folder: "/song", path: path}
		again, now, err := after.read()
		require.NoError(t, err)
		require.Equal(t, at+1, now)
		require.Len(t, again, at+2)
		require.Equal(t, "more", again[now].Choice.Title)
	})
}
