package workbench

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/plan/serve"
	"foldout/plan/sheet"
	"foldout/testdata/pages"
	"foldout/testdata/song"
)

// songFolder writes the invented song into a folder of its own inside a new one.
func songFolder(t testing.TB) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "Small Song")
	require.NoError(t, os.Mkdir(dir, 0o777))
	song.Write(t, dir, nil)
	return dir
}

// opened is a workbench on a server, with the song open.
type onServer struct {
	bench   *Bench
	address string
	stop    func()
}

// start serves a workbench with options; target is opened and waited for, "" for none.
func start(t testing.TB, opt Options, target string) *onServer {
	t.Helper()
	if opt.Cache == nil {
		cache, err := features.OpenCache(filepath.Join(cacheDir(t), "measured"))
		require.NoError(t, err)
		opt.Cache = cache
	}
	b, err := New(opt)
	require.NoError(t, err)
	s, err := serve.New(b.Handler())
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	stopped := false
	o := &onServer{bench: b, address: s.Address(), stop: func() {
		if !stopped {
			stopped = true
			cancel()
			require.NoError(t, <-ended)
			b.Close()
		}
	}}
	t.Cleanup(o.stop)
	if target != "" {
		require.NoError(t, b.Open(target))
		o.wait(t, "the session is open", func(st *State) bool { return st.Opening == nil })
		require.Empty(t, b.state().Trouble)
	}
	return o
}

var sharedCache string

// cacheDir is one folder for the measurements of all tests of this run, so that the song is measured anew only where its
// files differ.
func cacheDir(t testing.TB) string {
	t.Helper()
	if sharedCache == "" {
		dir, err := os.MkdirTemp("", "foldout-test-*")
		require.NoError(t, err)
		sharedCache = dir
	}
	return sharedCache
}

func TestMain(m *testing.M) {
	code := m.Run()
	pages.End()
	if sharedCache != "" {
		os.RemoveAll(sharedCache) //nolint:errcheck // a folder of the test
	}
	os.Exit(code)
}

// wait waits until the state fits.
func (o *onServer) wait(t testing.TB, what string, fits func(*State) bool) *State {
	t.Helper()
	var st *State
	require.Eventually(t, func() bool {
		st = o.bench.state()
		return fits(st)
	}, time.Minute, 20*time.Millisecond, what)
	return st
}

// post sends a request and returns the status and the answer.
func (o *onServer) post(t testing.TB, path string, body any, answer any) int {
	t.Helper()
	data, err := json.Marshal(body)
	require.NoError(t, err)
	res, err := http.Post(o.address+path, "application/json", bytes.NewReader(data))
	require.NoError(t, err)
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	if answer != nil {
		require.NoError(t, json.Unmarshal(text, answer), "%s", text)
	}
	return res.StatusCode
}

// do does something that has to succeed.
func (o *onServer) do(t testing.TB, a Act) *View {
	t.Helper()
	var st struct {
		Error   string
		Session *View
	}
	status := o.post(t, "act", a, &st)
	require.Equal(t, 200, status, st.Error)
	return st.Session
}

// refused does something that has to be refused, and returns why.
func (o *onServer) refused(t testing.TB, path string, body any) string {
	t.Helper()
	var why struct{ Error string }
	require.Equal(t, http.StatusUnprocessableEntity, o.post(t, path, body, &why))
	require.NotEmpty(t, why.Error)
	return why.Error
}

// pairOf is the pair of a track, 0 for none.
func pairOf(v *View, file string) int {
	for _, l := range v.Lanes {
		for _, t := range l.Tracks {
			if t.File == file {
				return l.Number
			}
		}
	}
	return 0
}

func figure(v *View, name string) string {
	for _, f := range v.Figures {
		if f.Name == name {
			return f.Text
		}
	}
	return ""
}

func loadSheet(t testing.TB, path string) *sheet.Sheet {
	t.Helper()
	doc, err := sheet.Load(path)
	require.NoError(t, err)
	return doc
}
