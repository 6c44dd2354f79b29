package serve

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path"
	"path/filepath"
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

// kinds are the media types of what pages are made of and of audio; the tables of some systems are wrong about scripts.
var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
	".svg": "image/svg+xml", ".png": "image/png", ".json": "application/json",
	".wav": "audio/wav", ".wave": "audio/wav", ".aif": "audio/aiff", ".aiff": "audio/aiff", ".flac": "audio/flac",
}

// ErrOutside says that a name is not that of a file inside the folder.
var ErrOutside = errors.New("not a file of this session")

// Folder serves files of one folder for reading, whole or in ranges (RFC 9110, section 14; status 206). Names that lead
// out of it, with dots or through a link, are refused, and so is whatever Has does not know.
type Folder struct {
	root *os.Root
	has  func(name string) bool
}

// OpenFolder opens a folder for serving. has tells which files may be seen, by their path below the folder with forward
// slashes. Close it when done.
func OpenFolder(dir string, has func(name string) bool) (*Folder, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	return &Folder{root: root, has: has}, nil
}

// Close releases the folder.
func (f *Folder) Close() error { return f.root.Close() }

// Open opens a file of the folder for reading. The error is ErrOutside where the name is not one of its files or leads
// out of it, else the system's.
func (f *Folder) Open(name string) (*os.File, error) {
	if !f.has(name) || !filepath.IsLocal(filepath.FromSlash(name)) {
		return nil, fmt.Errorf("%s: %w", name, ErrOutside)
	}
	file, err := f.root.Open(filepath.FromSlash(name))
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) || errors.Is(err, fs.ErrPermission) {
			return nil, err
		}
		return nil, fmt.Errorf("%s: %w", name, ErrOutside) // a link out of the folder
	}
	info, err := file.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("%s: %w", name, ErrOutside)
	}
	if err != nil {
		file.Close()
		return nil, err
	}
	return file, nil
}

// ServeHTTP serves the file that the path names.
func (f *Folder) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(r.URL.Path, "/")
	file, err := f.Open(name)
	if err != nil {
		http.Error(w, "There is no such file in this session.", http.StatusNotFound)
		return
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	if kind := kinds[strings.ToLower(path.Ext(name))]; kind != "" {
		w.Header().Set("Content-Type", kind)
	}
	http.ServeContent(w, r, name, info.ModTime(), file)
}
