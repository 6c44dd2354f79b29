package serve

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// start runs a server with a page, an echo of JSON and events.
func start(t *testing.T) (*Server, *Events) {
	t.Helper()
	events := &Events{}
	mux := http.NewServeMux()
	mux.Handle("/", Assets(fstest.MapFS{"index.html": {Data: []byte("<!DOCTYPE html><title>x</title>")}, "a.js": {Data: []byte("1")}}))
	mux.Handle("GET /events", events)
	mux.HandleFunc("POST /echo", func(w http.ResponseWriter, r *http.Request) {
		var v struct {
			Name string `json:"name"`
		}
		if ReadJSON(w, r, &v) == nil {
			WriteJSON(w, v)
		}
	})
	s, err := New(mux)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	t.Cleanup(func() { stop(); assert.NoError(t, <-ended) })
	return s, events
}

// ask sends one request over its own connection and returns the answer with its body.
func ask(t *testing.T, method, address, body string, header ...string) (*http.Response, string) {
	t.Helper()
	req, err := http.NewRequest(method, address, strings.NewReader(body))
	require.NoError(t, err)
	for i := 0; i < len(header); i += 2 {
		if header[i] == "Host" {
			req.Host = header[i+1]
			continue
		}
		req.Header.Add(header[i], header[i+1])
	}
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: 20 * time.Second,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res, string(text)
}

func TestThePageIsServedToItsOwner(t *testing.T) {
	s, _ := start(t)
	res, text := ask(t, "GET", s.Address(), "", "Sec-Fetch-Site", "none")
	assert.Equal(t, 200, res.StatusCode)
	assert.Contains(t, text, "<!DOCTYPE html>")
	assert.Equal(t, "text/html; charset=utf-8", res.Header.Get("Content-Type"))
	res, _ = ask(t, "GET", s.Address()+"a.js", "", "Origin", strings.TrimSuffix(s.Address(), "/"+s.token+"/"), "Sec-Fetch-Site", "same-origin")
	assert.Equal(t, 200, res.StatusCode)
	assert.Equal(t, "text/javascript; charset=utf-8", res.Header.Get("Content-Type"))
	res, _ = ask(t, "GET", strings.TrimSuffix(s.Address(), "/"), "")
	assert.Equal(t, http.StatusPermanentRedirect, res.StatusCode)
	assert.Equal(t, "/"+s.token+"/", res.Header.Get("Location"))
	at, err := url.Parse(s.Address())
	require.NoError(t, err)
	assert.True(t, net.ParseIP(at.Hostname()).IsLoopback())
}

// The policy is checked directive by directive against what Content Security Policy Level 3 (W3C) says each allows.
func TestNoInlineScriptAndNoOtherOrigin(t *testing.T) {
	s, _ := start(t)
	for _, address := range []string{s.Address(), s.Address() + "nothing", strings.Replace(s.Address(), s.token, "x", 1)} {
		res, _ := ask(t, "GET", address, "")
		csp := res.Header.Get("Content-Security-Policy")
		assert.Contains(t, csp, "default-src 'none'", address)
		assert.Contains(t, csp, "script-src 'self';", address)
		assert.NotContains(t, csp, "unsafe", address)
		assert.Contains(t, csp, "frame-ancestors 'none'", address)
		assert.Equal(t, "nosniff", res.Header.Get("X-Content-Type-Options"))
		assert.Equal(t, "no-referrer", res.Header.Get("Referrer-Policy"), "the token must not leave with a link")
		assert.Empty(t, res.Header.Get("Access-Control-Allow-Origin"))
	}
}

func TestStrangersAreRefused(t *testing.T) {
	s, _ := start(t)
	port := s.host()[strings.LastIndex(s.host(), ":"):]
	for _, c := range []struct {
		name, method, path string
		header             []string
		want               int
	}{
		{"no token", "GET", "/", nil, 404},
		{"another token", "GET", "/" + strings.Repeat("0", 32) + "/", nil, 404},
		{"half of the token", "GET", "/" + s.token[:16] + "/", nil, 404},
		{"token in capitals", "GET", "/" + strings.ToUpper(s.token) + "x/", nil, 404},
		{"token in the query only", "GET", "/?token=" + s.token, nil, 404},
		{"a name that points here", "GET", "/" + s.token + "/", []string{"Host", "evil.example" + port}, 403},
		{"the right name with another port", "GET", "/" + s.token + "/", []string{"Host", "127.0.0.1:1"}, 403},
		{"no port", "GET", "/" + s.token + "/", []string{"Host", "127.0.0.1"}, 403},
		{"another origin", "POST", "/" + s.token + "/echo", []string{"Origin", "http://evil.example", "Content-Type", "application/json"}, 403},
		{"an origin without a name", "POST", "/" + s.token + "/echo", []string{"Origin", "null", "Content-Type", "application/json"}, 403},
		{"another server of this computer", "POST", "/" + s.token + "/echo", []string{"Origin", "http://127.0.0.1:1", "Content-Type", "application/json"}, 403},
		{"two origins", "POST", "/" + s.token + "/echo", []string{"Origin", "http://127.0.0.1" + port, "Origin", "http://evil.example"}, 403},
		{"a picture on another page", "GET", "/" + s.token + "/", []string{"Sec-Fetch-Site", "cross-site"}, 403},
		{"a sibling site", "GET", "/" + s.token + "/", []string{"Sec-Fetch-Site", "same-site"}, 403},
		{"a form", "POST", "/" + s.token + "/echo", []string{"Content-Type", "text/plain"}, 415},
		{"a page written to", "POST", "/" + s.token + "/a.js", nil, 405},
	} {
		res, text := ask(t, c.method, "http://"+s.host()+c.path, "{}", c.header...)
		assert.Equal(t, c.want, res.StatusCode, c.name)
		assert.NotContains(t, text, s.token, c.name)
	}
}

func TestTokensDiffer(t *testing.T) {
	seen := map[string]bool{}
	for range 20 {
		s, err := New(http.NotFoundHandler())
		require.NoError(t, err)
		s.listener.Close()
		assert.Len(t, s.token, 32)
		assert.False(t, seen[s.token])
		seen[s.token] = true
	}
}

func TestBodies(t *testing.T) {
	s, _ := start(t)
	post := func(body string) (int, string) {
		res, text := ask(t, "POST", s.Address()+"echo", body, "Content-Type", "application/json; charset=utf-8")
		return res.StatusCode, text
	}
	status, text := post(`{"name":"<b>Kick</b>"}`)
	assert.Equal(t, 200, status)
	assert.JSONEq(t, `{"name":"<b>Kick</b>"}`, text)
	for body, want := range map[string]int{
		``: 400, `{`: 400, `[]`: 400, `{"name":1}`: 400, `{"other":1}`: 400, `{} {}`: 400, "\xff": 400,
		`{"name":"` + strings.Repeat("x", MaxBody) + `"}`: 413,
	} {
		status, text := post(body)
		assert.Equal(t, want, status, body[:min(20, len(body))])
		assert.Contains(t, text, `"error"`)
	}
}

func TestEventsReachEveryPage(t *testing.T) {
	s, events := start(t)
	var pages []*bufio.Scanner
	for range 3 {
		res, err := http.Get(s.Address() + "events")
		require.NoError(t, err)
		t.Cleanup(func() { res.Body.Close() })
		assert.Equal(t, "text/event-stream", res.Header.Get("Content-Type"))
		page := bufio.NewScanner(res.Body)
		until(t, page, "event: hello")
		pages = append(pages, page)
	}
	events.Send("moved", map[string]string{"track": "line\nbreak </script>"})
	for _, page := range pages {
		until(t, page, "event: moved")
		require.True(t, page.Scan())
		assert.Equal(t, `data: {"track":"line\nbreak \u003c/script\u003e"}`, page.Text())
	}
}

// A page that does not listen any more must not hold up the others, nor the program.
func TestEventsDropAPageThatLagsBehind(t *testing.T) {
	e := &Events{}
	c := make(chan []byte, backlog)
	e.listeners = map[chan []byte]bool{c: true}
	for n := range backlog + 1 {
		e.Send("n", n)
	}
	assert.Empty(t, e.listeners)
	for range backlog {
		<-c
	}
	_, open := <-c
	assert.False(t, open)
}

func until(t *testing.T, lines *bufio.Scanner, want string) {
	t.Helper()
	for lines.Scan() {
		if lines.Text() == want {
			return
		}
	}
	t.Fatalf("no line %q", want)
}

// The bound is the one that people feel; it holds with a page that listens, one that asks nothing, and an answer that
// is not taken.
func TestItEndsWithinHalfASecond(t *testing.T) {
	mux := http.NewServeMux()
	mux.Handle("/events", &Events{})
	mux.HandleFunc("/endless", func(w http.ResponseWriter, r *http.Request) {
		block := make([]byte, 1<<20)
		for r.Context().Err() == nil {
			if _, err := w.Write(block); err != nil {
				return
			}
		}
	})
	s, err := New(mux)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	for _, path := range []string{"events", "endless"} {
		res, err := http.Get(s.Address() + path)
		require.NoError(t, err)
		defer res.Body.Close()
	}
	silent, err := net.Dial("tcp", s.host())
	require.NoError(t, err)
	defer silent.Close()
	begun := time.Now()
	stop()
	require.NoError(t, <-ended)
	assert.Less(t, time.Since(begun), 500*time.Millisecond)
}

// A thousand connections that send nothing, or half a head, do not keep the person's page from being served.
func TestAThousandConnections(t *testing.T) {
	s, _ := start(t)
	client := &http.Client{Timeout: 10 * time.Second}
	first, err := client.Get(s.Address() + "events")
	require.NoError(t, err)
	defer first.Body.Close()
	for n := range 1000 {
		c, err := net.Dial("tcp", s.host())
		require.NoError(t, err, "connection %d", n)
		t.Cleanup(func() { c.Close() })
		if n%2 == 0 {
			fmt.Fprintf(c, "GET / HTTP/1.1\r\nHost: ")
		}
	}
	res, text := ask(t, "GET", s.Address(), "")
	assert.Equal(t, 200, res.StatusCode)
	assert.Contains(t, text, "<!DOCTYPE html>")
	s.guests.mu.Lock()
	open := len(s.guests.order)
	s.guests.mu.Unlock()
	assert.LessOrEqual(t, open, maxConnections)
	until(t, bufio.NewScanner(first.Body), "event: hello") // the page's own connection was not sent away
}

func TestASlowHeadIsNotWaitedFor(t *testing.T) {
	s, err := New(http.NotFoundHandler())
	require.NoError(t, err)
	s.http.ReadHeaderTimeout = 400 * time.Millisecond // headWithin in earnest
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	t.Cleanup(func() { stop(); assert.NoError(t, <-ended) })
	c, err := net.Dial("tcp", s.host())
	require.NoError(t, err)
	defer c.Close()
	begun := time.Now()
	var failed error
	for failed == nil && time.Since(begun) < time.Minute {
		_, failed = c.Write([]byte("X"))
		time.Sleep(50 * time.Millisecond) // the pace of a client that means harm
	}
	assert.Error(t, failed, "a client that sends a byte now and then was still there after %v", time.Since(begun))
}

// Clients that take their answer too slowly, or send their request too slowly, are dropped, hold on to nothing, and keep
// nobody waiting meanwhile. The times are shorter here than in earnest.
func TestASlowClientIsDropped(t *testing.T) {
	released := make(chan error, 1)
	mux := http.NewServeMux()
	mux.HandleFunc("/endless", func(w http.ResponseWriter, r *http.Request) {
		block := make([]byte, 1<<20)
		for {
			if _, err := w.Write(block); err != nil {
				released <- err
				return
			}
		}
	})
	mux.HandleFunc("/quick", func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, "here") }) //nolint:errcheck // the test reads it
	mux.HandleFunc("POST /echo", func(w http.ResponseWriter, r *http.Request) {
		var v struct{ Name string }
		released <- ReadJSON(w, r, &v)
	})
	s, err := New(mux)
	require.NoError(t, err)
	s.take, s.http.ReadTimeout = 300*time.Millisecond, 300*time.Millisecond
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	t.Cleanup(func() { stop(); assert.NoError(t, <-ended) })

	for what, request := range map[string]string{
		"takes nothing": "GET /" + s.token + "/endless HTTP/1.1\r\nHost: " + s.host() + "\r\n\r\n",
		"sends a part":  "POST /" + s.token + "/echo HTTP/1.1\r\nHost: " + s.host() + "\r\nContent-Type: application/json\r\nContent-Length: 1000\r\n\r\n{",
	} {
		c, err := net.Dial("tcp", s.host())
		require.NoError(t, err)
		defer c.Close()
		_, err = io.WriteString(c, request)
		require.NoError(t, err)
		_, text := ask(t, "GET", s.Address()+"quick", "")
		assert.Equal(t, "here", text, "meanwhile, while a client %s", what)
		select {
		case err := <-released:
			assert.Error(t, err, what)
		case <-time.After(time.Minute):
			t.Fatalf("a client that %s is waited for", what)
		}
		require.NoError(t, c.SetReadDeadline(time.Now().Add(time.Minute)))
		_, err = io.Copy(io.Discard, c) // what was under way, and then the end
		var late net.Error
		assert.False(t, errors.As(err, &late) && late.Timeout(), "the connection of a client that %s stays open", what)
	}
}

func TestAHugeHeadIsRefused(t *testing.T) {
	s, _ := start(t)
	c, err := net.Dial("tcp", s.host())
	require.NoError(t, err)
	defer c.Close()
	require.NoError(t, c.SetDeadline(time.Now().Add(10*time.Second)))
	go c.Write(bytes.Join([][]byte{[]byte("GET / HTTP/1.1\r\nX: "), bytes.Repeat([]byte("x"), 4*maxHeader), []byte("\r\n\r\n")}, nil)) //nolint:errcheck // it is cut off
	res, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err == nil { // else it was cut off before the answer could be read
		defer res.Body.Close()
		assert.Equal(t, http.StatusRequestHeaderFieldsTooLarge, res.StatusCode)
	}
}
