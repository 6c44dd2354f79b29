package features

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"foldout/features/kinship"
)

// cacheEntry is the place of one file's analysis. The zero value is no place: it holds nothing and keeps nothing.
type cacheEntry struct {
	cache    *Cache
	path     string
	identity string // see fingerprint
	key      string
	usable   bool
}

// build tells one build of the program from another.
var build = sync.OnceValues(func() (string, error) {
	program, err := os.Executable()
	if err != nil {
		return "", err
	}
	st, err := os.Stat(program)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%s %d %d", program, st.Size(), st.ModTime().UnixNano()), nil
})

// entry returns the place of a file as it is now.
func (c *Cache) entry(path string) cacheEntry {
	version, err := build()
	if err != nil {
		c.report(err)
		return cacheEntry{}
	}
	absolute, err := filepath.Abs(path)
	if err != nil {
		c.report(err)
		return cacheEntry{}
	}
	st, err := os.Stat(absolute)
	if err != nil {
		return cacheEntry{} // measuring will say the same, to the user
	}
	identity, err := fingerprint(absolute, st)
	if err != nil {
		return cacheEntry{} // as above
	}
	return cacheEntry{
		cache:    c,
		path:     absolute,
		identity: identity,
		key:      fmt.Sprintf("foldout %s\n%s\n%s\n", version, absolute, identity),
		usable:   time.Since(st.ModTime()) > settled,
	}
}

const (
	probes     = 16   // places of a file that its fingerprint reads, spread over it evenly
	probeBytes = 4096 // of each
)

// fingerprint is what tells one content of a file from another without reading it all: size, modification time, change time
// and file number where the system has them, and a digest of pieces from the whole length. So a file that was put back
// under an old time, or edited in place with its time restored, is another file.
func fingerprint(path string, st fs.FileInfo) (string, error) {
	if !st.Mode().IsRegular() {
		return "", errors.New("not a plain file") // opening a pipe would wait for its writer
	}
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close() //nolint:errcheck // nothing was written
	digest := sha256.New()
	piece := make([]byte, probeBytes)
	for i := range int64(probes) {
		at := (st.Size() - probeBytes) * i / (probes - 1)
		n, err := f.ReadAt(piece, max(at, 0))
		if err != nil && !errors.Is(err, io.EOF) {
			return "", err
		}
		digest.Write(piece[:n])
		if st.Size() <= probeBytes {
			break
		}
	}
	return fmt.Sprintf("%d %d %s %x", st.Size(), st.ModTime().UnixNano(), changed(st), digest.Sum(nil)[:16]), nil
}

func (e *cacheEntry) file(suffix string) string {
	sum := sha256.Sum256([]byte(e.key))
	return filepath.Join(e.cache.dir, hex.EncodeToString(sum[:16])+suffix)
}

// load returns the analysis kept, if there is one and it is whole.
func (e *cacheEntry) load(withSketch bool) (*Analysis, bool) {
	if !e.usable {
		return nil, false
	}
	a := new(Analysis)
	if !e.read(profileSuffix, &a.Profile, &a.Timbre) {
		return nil, false
	}
	if withSketch {
		var codes [][]byte
		if !e.read(sketchSuffix, &a.Sketch, &codes) || !joinCodes(&a.Sketch, codes) {
			return nil, false
		}
	}
	return a, true
}

// read decodes the values of a file of the entry; false if there is no such file or it is not what was written.
func (e *cacheEntry) read(suffix string, values ...any) bool {
	name := e.file(suffix)
	// What is no plain file (a pipe, a link to a device) is not opened, nor what is too large to be an entry.
	if st, err := os.Lstat(name); err != nil || !st.Mode().IsRegular() || st.Size() > entryLimit {
		return false
	}
	content, err := os.ReadFile(name)
	if err != nil {
		return false
	}
	body, ok := bytes.CutPrefix(content, []byte(e.key))
	if !ok || len(body) < sha256.Size {
		return false
	}
	sum := sha256.Sum256(content[:len(content)-sha256.Size])
	body, kept := body[:len(body)-sha256.Size], body[len(body)-sha256.Size:]
	if !bytes.Equal(sum[:], kept) {
		return false
	}
	decoder := gob.NewDecoder(bytes.NewReader(body))
	for _, v := range values {
		if decoder.Decode(v) != nil {
			return false
		}
	}
	now := time.Now()
	e.cache.report(os.Chtimes(name, now, now)) // the entries used last are dropped last
	return true
}

// save keeps an analysis, unless the file has changed since the entry was looked up. It tells whether all was kept.
func (e *cacheEntry) save(a *Analysis, withSketch bool) bool {
	if !e.usable {
		return false
	}
	st, err := os.Stat(e.path)
	if err != nil {
		return false
	}
	if now, err := fingerprint(e.path, st); err != nil || now != e.identity {
		return false
	}
	if err = e.write(profileSuffix, a.Profile, a.Timbre); err == nil && withSketch {
		err = e.write(sketchSuffix, splitCodes(a.Sketch)...)
	}
	e.cache.report(err)
	return err == nil
}

// splitCodes returns a sketch without its waveform codes, and the codes as bytes, which gob moves as a whole where it
// takes int8 one by one.
func splitCodes(s kinship.Sketch) []any {
	codes := make([][]byte, len(s.Chunks))
	s.Chunks = slices.Clone(s.Chunks)
	for i := range s.Chunks {
		codes[i] = make([]byte, len(s.Chunks[i].Code))
		for j, v := range s.Chunks[i].Code {
			codes[i][j] = byte(v)
		}
		s.Chunks[i].Code = nil
	}
	return []any{s, codes}
}

// joinCodes is the inverse of splitCodes.
func joinCodes(s *kinship.Sketch, codes [][]byte) bool {
	if len(codes) != len(s.Chunks) {
		return false
	}
	for i, c := range codes {
		s.Chunks[i].Code = make([]int8, len(c))
		for j, v := range c {
			s.Chunks[i].Code[j] = int8(v)
		}
	}
	return true
}

func (e *cacheEntry) write(suffix string, values ...any) error {
	content := bytes.NewBufferString(e.key)
	encoder := gob.NewEncoder(content)
	for _, v := range values {
		if err := encoder.Encode(v); err != nil {
			return err
		}
	}
	sum := sha256.Sum256(content.Bytes())
	content.Write(sum[:])
	if err := os.MkdirAll(e.cache.dir, 0o700); err != nil {
		return err
	}
	temp, err := os.CreateTemp(e.cache.dir, tempPrefix+"*"+suffix)
	if err != nil {
		return err
	}
	_, err = temp.Write(content.Bytes())
	if err = errors.Join(err, temp.Close()); err == nil {
		err = os.Rename(temp.Name(), e.file(suffix))
	}
	if err != nil {
		return errors.Join(err, os.Remove(temp.Name()))
	}
	return nil
}
