package serve

import (
	"bufio"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Requests as strangers, other pages and broken clients send them: each is refused with the status that RFC 9110 has for it,
// none stops the server, and none learns anything of what it serves.
func TestBadRequestsAreRefused(t *testing.T) {
	s, _ := start(t)
	host := s.host()
	cases := []struct {
		name, request string
		status        int // 0: the connection is closed without an answer, or with 400
	}{
		{"no token", "GET / HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"wrong token", "GET /0123456789abcdef0123456789abcdef/ HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"token cut short", "GET /TOK HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"token in capitals", "GET /UPPER/ HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"token twice", "GET //TOKEN/ HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"token as a query", "GET /?token=TOKEN HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"dots", "GET /TOKEN/../../etc/passwd HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"coded dots", "GET /TOKEN/%2e%2e/%2e%2e/etc/passwd HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"coded slash", "GET /TOKEN%2f..%2fa.js HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"backslashes", "GET /TOKEN/..\\..\\a.js HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"a file that is not there", "GET /TOKEN/secret.txt HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"a zero in the path", "GET /TOKEN/a%00.js HTTP/1.1\r\nHost: HOST\r\n\r\n", 404},
		{"another host", "GET /TOKEN/ HTTP/1.1\r\nHost: example.org\r\n\r\n", 403},
		{"another port", "GET /TOKEN/ HTTP/1.1\r\nHost: 127.0.0.1:1\r\n\r\n", 403},
		{"another address of this computer", "GET /TOKEN/ HTTP/1.1\r\nHost: 127.0.0.2\r\n\r\n", 403},
		{"another origin", "POST /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\nOrigin: http://example.org\r\nContent-Type: application/json\r\nContent-Length: 2\r\n\r\n{}", 403},
		{"origin null", "POST /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\nOrigin: null\r\nContent-Type: application/json\r\nContent-Length: 2\r\n\r\n{}", 403},
		{"two origins", "GET /TOKEN/ HTTP/1.1\r\nHost: HOST\r\nOrigin: http://HOST\r\nOrigin: http://example.org\r\n\r\n", 403},
		{"fetched by another page", "GET /TOKEN/ HTTP/1.1\r\nHost: HOST\r\nSec-Fetch-Site: cross-site\r\n\r\n", 403},
		{"wrong method", "DELETE /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\n\r\n", 405},
		{"trace", "TRACE /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\n\r\n", 405},
		{"no JSON", "POST /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\nContent-Type: application/json\r\nContent-Length: 5\r\n\r\nhello", 400},
		{"JSON cut short", "POST /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\nContent-Type: application/json\r\nContent-Length: 8\r\n\r\n{\"name\":", 400},
		{"two documents", "POST /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\nContent-Type: application/json\r\nContent-Length: 4\r\n\r\n{}{}", 400},
		{"a name of 1e308", "POST /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\nContent-Type: application/json\r\nContent-Length: 14\r\n\r\n{\"name\":1e308}", 400},
		{"a form", "POST /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 6\r\n\r\nname=x", 415},
		{"no host", "GET /TOKEN/ HTTP/1.1\r\n\r\n", 400},
		{"two hosts", "GET /TOKEN/ HTTP/1.1\r\nHost: HOST\r\nHost: HOST\r\n\r\n", 400},
		{"two lengths", "POST /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\nContent-Length: 2\r\nContent-Length: 3\r\n\r\n{}", 400},
		{"a length below zero", "POST /TOKEN/echo HTTP/1.1\r\nHost: HOST\r\nContent-Length: -1\r\n\r\n", 400},
		{"another protocol", "SSH-2.0-x\r\n\r\n", 400},
		{"a later protocol", "PRI * HTTP/2.0\r\n\r\n", 0},
		{"zeros", strings.Repeat("\x00", 64) + "\r\n\r\n", 400},
		{"a head of a megabyte", "GET /TOKEN/ HTTP/1.1\r\nHost: HOST\r\nX: " + strings.Repeat("x", 1<<20) + "\r\n\r\n", 431},
		{"a blank in a name", "GET /TOKEN/ HTTP/1.1\r\nHost: HOST\r\nX Y: 1\r\n\r\n", 400},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			conn, err := net.Dial("tcp", host)
			require.NoError(t, err)
			defer conn.Close()
			require.NoError(t, conn.SetDeadline(time.Now().Add(20*time.Second)))
			text := strings.NewReplacer("TOKEN", s.token, "TOK ", s.token[:30]+" ", "UPPER", strings.ToUpper(s.token)+"X", "HOST", host).Replace(c.request)
			go io.WriteString(conn, text) //nolint:errcheck // the server may close before it has read all
			res, err := http.ReadResponse(bufio.NewReader(conn), nil)
			if c.status == 0 && err != nil {
				return
			}
			require.NoError(t, err)
			defer res.Body.Close()
			if c.status == 0 {
				assert.GreaterOrEqual(t, res.StatusCode, 400)
			} else {
				assert.Equal(t, c.status, res.StatusCode)
			}
			body, _ := io.ReadAll(res.Body) // what came before the end is what counts
			assert.NotContains(t, string(body), s.token)
			assert.NotContains(t, string(body), "goroutine")
		})
	}
	t.Logf("%d cases", len(cases))
	res, _ := ask(t, "GET", s.Address(), "")
	assert.Equal(t, 200, res.StatusCode, "the owner is served as before")
}
