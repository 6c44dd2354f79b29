package serve

import (
	"io"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"time"
)

// Assets serves the files of a page that are built into the program. "/" is index.html.
func Assets(files fs.FS) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "only reading is possible here", http.StatusMethodNotAllowed)
			return
		}
		name := strings.TrimPrefix(path.Clean(r.URL.Path), "/")
		if name == "" || name == "." {
			name = "index.html"
		}
		f, err := files.Open(name)
		if err != nil {
			http.NotFound(w, r)
			return
		}
		defer f.Close()
		info, err := f.Stat()
		body, seeks := f.(io.ReadSeeker)
		if err != nil || info.IsDir() || !seeks {
			http.NotFound(w, r)
			return
		}
		if kind := kinds[path.Ext(name)]; kind != "" {
			w.Header().Set("Content-Type", kind)
		}
		http.ServeContent(w, r, name, time.Time{}, body)
	})
}

// kinds are the media types of what pages are made of; the tables of some systems are wrong about scripts.
var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
	".svg": "image/svg+xml", ".png": "image/png", ".json": "application/json",
}
