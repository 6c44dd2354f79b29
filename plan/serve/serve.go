// Package serve is a small web server for one person at one computer: it carries the pages of the workbench and of the
// blind test.
//
// In go an http.Handler and a context; out comes an address of the form http://127.0.0.1:PORT/TOKEN/ that works until
// the context ends.
//
// # Safety
//
// The server listens on the loopback address only, at a port the system picks. Every address begins with a token of 128
// random bits, so that another page or another user cannot guess it. Both are new at each start, but for a page that is to
// go on when its program is started again (NewAgain). A request with another Host than
// the server's own is refused (a name on the internet may be made to point to 127.0.0.1), and so is one that another
// origin caused, as Origin (RFC 6454) and Sec-Fetch-Site (W3C Fetch Metadata) tell. Answers carry a Content-Security-Policy
// that allows nothing but files of the server's own, and no inline script.
//
// Bodies are limited, headers must arrive within five seconds, a client that does not take its answer is dropped, and
// where too many connections are open the oldest that never showed the token gives way.
package serve

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/hex"
	"errors"
	"fmt"
	"log"
	"net"
	"net/http"
	"os"
	"path"
	"strings"
	"time"
)

// Limits of the server. Chosen: far above what a page needs, far below what hurts.
const (
	MaxBody        = 4 << 20          // bytes of a request's body
	maxHeader      = 64 << 10         // bytes of a request's head
	maxConnections = 256              // a browser keeps six for a host
	headWithin     = 5 * time.Second  // for the head of a request
	bodyWithin     = 30 * time.Second // for all of it
	takeWithin     = 20 * time.Second // for each block of an answer to be taken
	idleFor        = 2 * time.Minute
	closeWithin    = 300 * time.Millisecond // for answers under way when the server ends
)

// policy is the Content-Security-Policy of every answer.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; media-src 'self' blob:; " +
	"connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// Server is a server that is bound to its port but does not answer yet; see Run.
type Server struct {
	listener net.Listener
	token    string
	http     *http.Server
	guests   *guests
	kept     string // file that keeps the address, "" for none
	take     time.Duration
	cancel   context.CancelFunc
}

// New binds a server to a free port of the loopback address. The handler sees paths without the token, from "/" on; the
// contexts of its requests end when the server does. Errors are those of listening.
func New(handler http.Handler) (*Server, error) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, fmt.Errorf("no port of 127.0.0.1 can be opened: %w", err)
	}
	raw := make([]byte, 16)
	if _, err := rand.Read(raw); err != nil {
		listener.Close()
		return nil, fmt.Errorf("the system gives no random numbers: %w", err)
	}
	return newServer(handler, listener, hex.EncodeToString(raw)), nil
}

func newServer(handler http.Handler, listener net.Listener, token string) *Server {
	ctx, cancel := context.WithCancel(context.Background())
	s := &Server{listener: listener, token: token, guests: newGuests(maxConnections), take: takeWithin, cancel: cancel}
	s.http = &http.Server{
		Handler:           s.guard(handler),
		ReadHeaderTimeout: headWithin,
		ReadTimeout:       bodyWithin,
		IdleTimeout:       idleFor,
		MaxHeaderBytes:    maxHeader,
		BaseContext:       func(net.Listener) context.Context { return ctx },
		ConnContext:       s.guests.introduce,
		ConnState:         s.guests.watch,
		ErrorLog:          log.New(complaints{}, "", 0),
	}
	return s
}

// complaints passes on what net/http says of a program's own fault, to stderr, and drops its remarks on clients that
// misbehave: they are no news for the person at the terminal.
type complaints struct{}

func (complaints) Write(p []byte) (int, error) {
	if bytes.Contains(p, []byte("panic")) {
		return os.Stderr.Write(p)
	}
	return len(p), nil
}

// Address is where the server answers, with its token and a slash at the end.
func (s *Server) Address() string { return "http://" + s.host() + "/" + s.token + "/" }

func (s *Server) host() string { return s.listener.Addr().String() }

// Run answers requests until the context ends, and returns nil then, within half a second. A server runs once.
func (s *Server) Run(ctx context.Context) error {
	defer s.keep() //nolint:errcheck // Open has said so at the start
	done := make(chan error, 1)
	go func() { done <- s.http.Serve(s.listener) }()
	select {
	case err := <-done:
		s.cancel()
		return fmt.Errorf("the local server stopped: %w", err)
	case <-ctx.Done():
	}
	s.cancel()
	last, stop := context.WithTimeout(context.Background(), closeWithin)
	defer stop()
	if err := s.http.Shutdown(last); err != nil {
		if err := s.http.Close(); err != nil && !errors.Is(err, net.ErrClosed) {
			return err
		}
	}
	<-done
	return nil
}

// guard admits requests that come from the server's own page and carry the token.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Set("Content-Security-Policy", policy)
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("X-Frame-Options", "DENY")
		head.Set("Referrer-Policy", "no-referrer")
		head.Set("Cross-Origin-Opener-Policy", "same-origin")
		head.Set("Cross-Origin-Resource-Policy", "same-origin")
		head.Set("Cache-Control", "no-store")
		if !s.ownHost(r.Host) || !s.ownOrigin(r) {
			http.Error(w, "This address is for the page that foldout opened on this computer.", http.StatusForbidden)
			return
		}
		inside, ok := s.admit(r.URL.Path)
		if !ok {
			http.Error(w, "Nothing here. Use the address that foldout printed at its last start.", http.StatusNotFound)
			return
		}
		if inside == "" {
			http.Redirect(w, r, "/"+s.token+"/", http.StatusPermanentRedirect)
			return
		}
		s.guests.trust(r.Context())
		r.Body = http.MaxBytesReader(w, r.Body, MaxBody)
		inner := r.Clone(r.Context())
		inner.URL.Path, inner.URL.RawPath = inside, ""
		next.ServeHTTP(&patient{w, http.NewResponseController(w), s.take}, inner)
	})
}

// ownHost tells whether a request names the server as it is: its address or localhost, with its port.
func (s *Server) ownHost(host string) bool {
	_, port, err := net.SplitHostPort(s.host())
	return err == nil && (host == "127.0.0.1:"+port || host == "localhost:"+port)
}

// ownOrigin tells whether a request was caused by the server's own page or by the person, not by another page.
func (s *Server) ownOrigin(r *http.Request) bool {
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
	default:
		return false
	}
	origin := r.Header.Values("Origin")
	return len(origin) == 0 || len(origin) == 1 && origin[0] == "http://"+r.Host
}

// admit takes the token off a path.
func (s *Server) admit(at string) (rest string, ok bool) {
	below, rooted := strings.CutPrefix(at, "/")
	token, rest, deeper := strings.Cut(below, "/")
	if !rooted || subtle.ConstantTimeCompare([]byte(token), []byte(s.token)) != 1 {
		return "", false
	}
	if !deeper {
		return "", true
	}
	rest = "/" + rest
	if clean := path.Clean(rest); clean != rest && clean+"/" != rest { // dots lead nowhere here
		return "", false
	}
	return rest, true
}

// patient gives each block of an answer its own time to be taken, so that long answers may be long and a client that
// has stopped reading does not hold on to anything.
type patient struct {
	http.ResponseWriter
	control *http.ResponseController
	within  time.Duration
}

func (p *patient) Write(b []byte) (int, error) {
	if err := p.control.SetWriteDeadline(time.Now().Add(p.within)); err != nil {
		return 0, err
	}
	return p.ResponseWriter.Write(b)
}

// Unwrap lets http.ResponseController through.
func (p *patient) Unwrap() http.ResponseWriter { return p.ResponseWriter }
