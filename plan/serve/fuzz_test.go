package serve

import (
	"path"
	"strings"
	"testing"
)

// No path gets in without the token, and none that gets in leads out again.
func FuzzAdmit(f *testing.F) {
	const token = "0123456789abcdef0123456789abcdef"
	for _, s := range []string{"/" + token + "/", "/" + token, "//" + token + "/x", "/" + token + "/../x", "/" + token + "/sound/a%2f..", "", "/", "\x00", "/" + token + "x/"} {
		f.Add(s)
	}
	s := &Server{token: token}
	f.Fuzz(func(t *testing.T, at string) {
		rest, ok := s.admit(at)
		if !ok {
			return
		}
		if !strings.HasPrefix(strings.TrimPrefix(at, "/"), token) {
			t.Fatalf("%q got in", at)
		}
		if clean := path.Clean(rest); rest != "" && clean != rest && clean+"/" != rest || strings.Contains("/"+rest+"/", "/../") {
			t.Fatalf("%q leads to %q", at, rest)
		}
	})
}
