package serve

import (
	"context"
	"net"
	"net/http"
	"sync"
)

// guests knows the open connections. Where they are too many, the oldest that never carried the token is closed; where
// all have carried it, the newest is.
type guests struct {
	most int

	mu    sync.Mutex
	next  uint64
	order map[net.Conn]*guest
}

type guest struct {
	number  uint64
	trusted bool
}

func newGuests(most int) *guests { return &guests{most: most, order: map[net.Conn]*guest{}} }

type connectionKey struct{}

// introduce lets requests find their connection.
func (g *guests) introduce(ctx context.Context, c net.Conn) context.Context {
	return context.WithValue(ctx, connectionKey{}, c)
}

// trust notes that a connection has shown the token.
func (g *guests) trust(ctx context.Context) {
	c, ok := ctx.Value(connectionKey{}).(net.Conn)
	if !ok {
		return
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	if known := g.order[c]; known != nil {
		known.trusted = true
	}
}

// watch is told of every connection that comes and goes.
func (g *guests) watch(c net.Conn, state http.ConnState) {
	if leaving := g.change(c, state); leaving != nil {
		leaving.Close() //nolint:errcheck // it is being sent away
	}
}

// change keeps the books and returns a connection that has to go.
func (g *guests) change(c net.Conn, state http.ConnState) net.Conn {
	g.mu.Lock()
	defer g.mu.Unlock()
	switch state {
	case http.StateNew:
		g.order[c] = &guest{number: g.next}
		g.next++
	case http.StateClosed, http.StateHijacked:
		delete(g.order, c)
	}
	if len(g.order) <= g.most {
		return nil
	}
	var out net.Conn
	for other, known := range g.order {
		if !known.trusted && (out == nil || known.number < g.order[out].number) {
			out = other
		}
	}
	if out == nil {
		out = c
	}
	delete(g.order, out)
	return out
}
