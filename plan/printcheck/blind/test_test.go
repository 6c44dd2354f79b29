package blind

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/serve"
)

const rate = 48000

// tone writes two seconds of a chord.
func tone(t *testing.T, path string, db float64, bright float64) string {
	t.Helper()
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: rate, Channels: 2, Encoding: wavfile.PCM24}, false)
	require.NoError(t, err)
	g := 0.1 * math.Pow(10, db/20)
	p := [][]float32{make([]float32, 2*rate), make([]float32, 2*rate)}
	for i := range p[0] {
		s := float64(i) / rate
		v := math.Sin(2*math.Pi*220*s) + 0.5*math.Sin(2*math.Pi*330*s) + bright*math.Sin(2*math.Pi*2500*s)
		p[0][i], p[1][i] = float32(g*v), float32(g*v*0.8)
	}
	require.NoError(t, w.Write(p))
	require.NoError(t, w.Close())
	return path
}

func newTest(t *testing.T) *Test {
	t.Helper()
	dir := t.TempDir()
	e, err := Open(tone(t, filepath.Join(dir, "A.wav"), 0, 0), tone(t, filepath.Join(dir, "B.wav"), 3, 0.2))
	require.NoError(t, err)
	return NewTest(e)
}

func TestTheLouderIsTurnedDown(t *testing.T) {
	x := newTest(t)
	assert.InDelta(t, 0, x.excerpts.ApartLU, 0.01, "far below 0.1 LU")
	assert.Less(t, x.excerpts.GainDB, -2.5)
	require.Len(t, x.excerpts.Notes, 1)
	assert.Contains(t, x.excerpts.Notes[0], "B.wav was")
	for i := range 2 { // by the meter of the house, on what is served
		data, err := x.excerpts.wav(i)
		require.NoError(t, err)
		path := filepath.Join(t.TempDir(), "x.wav")
		require.NoError(t, os.WriteFile(path, data, 0o600))
		s, err := read(path)
		require.NoError(t, err)
		assert.InDelta(t, loud(x.excerpts.sound[0], rate), loud(s.planes, rate), 0.02)
		again, err := x.excerpts.wav(i)
		require.NoError(t, err)
		assert.False(t, bytes.Equal(data, again), "equal sounds do not look equal")
		assert.Len(t, again, len(data))
	}
}

func TestWhatCannotBeHeardIsRefused(t *testing.T) {
	dir := t.TempDir()
	a := tone(t, filepath.Join(dir, "a.wav"), 0, 0)
	silent := tone(t, filepath.Join(dir, "s.wav"), -400, 0)
	_, err := Open(a, silent)
	assert.ErrorContains(t, err, "s.wav: found only silence")
	_, err = Open(a, filepath.Join(dir, "gone.wav"))
	assert.ErrorContains(t, err, "gone.wav")
}

func TestATestFromStartToEnd(t *testing.T) {
	x := newTest(t)
	assert.ErrorIs(t, x.Answer(1, 0), ErrNone)
	assert.ErrorContains(t, x.Start("abx", 10), "want one of [16 25]", "ten would miss most listeners")
	assert.ErrorContains(t, x.Start("guess", 16), "mode")
	require.NoError(t, x.Start(ABX, 16))
	assert.ErrorIs(t, x.Start(ABX, 25), ErrUnderWay, "the number is fixed")
	for i := 1; i <= 16; i++ {
		assert.ErrorIs(t, x.Answer(i+1, 0), ErrTrial, "no trial is skipped")
		answer := x.order[i-1]
		if i%4 == 0 {
			answer = 1 - answer
		}
		if i < 16 {
			s := x.State()
			s.Trial = 0
			before, err := json.Marshal(s)
			require.NoError(t, err)
			require.NoError(t, x.Answer(i, answer))
			s = x.State()
			s.Trial = 0
			after, err := json.Marshal(s)
			require.NoError(t, err)
			assert.Equal(t, string(before), string(after), "nothing is told of right or wrong")
		} else {
			require.NoError(t, x.Answer(i, answer))
		}
	}
	s := x.State()
	require.Equal(t, "ended", s.Phase)
	assert.Equal(t, 12, *s.Result.Right)
	assert.InDelta(t, 0.0384063720703125, *s.Result.P, 1e-12) // scipy.stats.binom.sf(11, 16, 0.5)
	data, err := os.ReadFile(x.result.SavedAs)
	require.NoError(t, err)
	assert.Contains(t, string(data), `"right": 12`)

	// The next one takes a name of its own, even within the same second.
	first := x.result.SavedAs
	now := x.result.Ended
	require.NoError(t, x.Start(Preference, 16))
	x.now = func() time.Time { return now }
	for i := 1; i <= 16; i++ {
		require.NoError(t, x.Answer(i, x.order[i-1])) // the first is excerpt order[i]: this always chooses A
	}
	assert.Equal(t, 0, *x.result.ChoseB)
	assert.NotEqual(t, first, x.result.SavedAs)
	assert.FileExists(t, first)
}

func TestStoppedEarlyIsNotEvaluated(t *testing.T) {
	x := newTest(t)
	require.NoError(t, x.Start(ABX, 25))
	for i := 1; i <= 20; i++ {
		require.NoError(t, x.Answer(i, x.order[i-1]))
	}
	require.NoError(t, x.Stop())
	r := x.State().Result
	assert.False(t, r.Complete)
	assert.Nil(t, r.Right)
	assert.Nil(t, r.P)
	assert.Empty(t, r.Log)
	data, err := os.ReadFile(x.result.SavedAs)
	require.NoError(t, err)
	assert.NotContains(t, string(data), "log")
}

func TestTheOrderIsRandom(t *testing.T) {
	x := newTest(t)
	ones, n := 0, 0
	seen := map[string]bool{}
	for range 200 {
		require.NoError(t, x.Start(ABX, 25))
		for _, o := range x.order {
			ones += o
			n++
		}
		seen[fmt.Sprint(x.order)] = true
		x.order = nil
	}
	assert.Len(t, seen, 200)
	assert.InDelta(t, n/2, ones, 5*math.Sqrt(float64(n)/4), "five standard deviations")
}

// server runs the test as it is served.
func server(t *testing.T, x *Test) string {
	t.Helper()
	s, err := serve.New(x.Handler())
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx) }()
	t.Cleanup(func() {
		stop()
		assert.NoError(t, <-done)
	})
	return s.Address()
}

func get(t *testing.T, address string) (int, []byte, http.Header) {
	t.Helper()
	r, err := http.Get(address)
	require.NoError(t, err)
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return r.StatusCode, body, r.Header
}

func post(t *testing.T, address, body string) (int, string) {
	t.Helper()
	r, err := http.Post(address, "application/json", strings.NewReader(body))
	require.NoError(t, err)
	defer r.Body.Close()
	data, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return r.StatusCode, string(data)
}

func TestTheServerGivesNothingAway(t *testing.T) {
	x := newTest(t)
	at := server(t, x)
	status, _, _ := get(t, at+"audio/x.wav?trial=1")
	assert.Equal(t, 404, status, "no X before a test")
	status, body := post(t, at+"api/start", `{"mode":"abx","trials":16}`)
	require.Equal(t, 200, status, body)
	assert.NotContains(t, body, "order")
	assert.NotContains(t, body, "result")
	for _, path := range []string{"audio/x.wav", "audio/x.wav?trial=2", "audio/x.wav?trial=0", "audio/x.wav?trial=-1", "audio/first.wav?trial=1", "audio/a.wav?trial=1", "audio/../A.wav", "audio/listen.json", "api/order", "A.wav"} {
		status, _, _ := get(t, at+path)
		assert.Equal(t, 404, status, path)
	}
	_, a, headA := get(t, at+"audio/a.wav")
	_, b, headB := get(t, at+"audio/b.wav")
	_, sound, headX := get(t, at+"audio/x.wav?trial=1")
	for _, h := range []http.Header{headA, headB, headX} {
		h.Del("Date")
	}
	assert.Equal(t, headA, headX, "headers are the same whichever it is")
	assert.Equal(t, headB, headX)
	assert.NotEqual(t, a, sound)
	assert.NotEqual(t, b, sound)
	for _, c := range []struct {
		body string
		want int
	}{
		{`{"trial":2,"answer":0}`, 409}, {`{"trial":1,"answer":2}`, 400}, {`{"trial":1}`, 400}, {`{"trial":1,"answer":0,"peek":true}`, 400}, {`[]`, 400}, {``, 400},
		{`{"trial":1,"answer":0}`, 200}, {`{"trial":1,"answer":1}`, 409},
	} {
		status, said := post(t, at+"api/answer", c.body)
		assert.Equal(t, c.want, status, "%s: %s", c.body, said)
		assert.NotContains(t, said, "right\"")
	}
	status, _ = post(t, at+"api/start", `{"mode":"preference","trials":16}`)
	assert.Equal(t, 409, status, "no second test over a running one")
	status, _ = post(t, at+"api/stop", `{}`)
	assert.Equal(t, 200, status)

	status, _ = post(t, at+"api/start", `{"mode":"preference","trials":16}`)
	require.Equal(t, 200, status)
	for _, path := range []string{"audio/a.wav", "audio/b.wav", "audio/x.wav?trial=1"} {
		status, _, _ := get(t, at+path)
		assert.Equal(t, 404, status, "%s has a name, and preference is blind", path)
	}
	status, _, _ = get(t, at+"audio/first.wav?trial=1")
	assert.Equal(t, 200, status)

	// Another page and another host are kept out (package serve).
	r, err := http.NewRequest(http.MethodPost, at+"api/stop", strings.NewReader("{}"))
	require.NoError(t, err)
	r.Header.Set("Origin", "http://elsewhere.example")
	r.Header.Set("Content-Type", "application/json")
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	answer.Body.Close()
	assert.Equal(t, 403, answer.StatusCode)
	assert.True(t, x.running())
}
