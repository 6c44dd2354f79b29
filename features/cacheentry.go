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
)

// cacheEntry is the place of one file's analysis. The zero value is no place: it holds nothing and keeps nothing.
type cacheEntry struct {
	cache    *Cache
	path     string
	identity string // see fingerprint
	key      string
	usable   bool
	start    startOf // of the file, where somebody says it; part of the key
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

// load returns the analysis kept, if there is one and it is whole. The waveforms of a sketch stay where they are until
// somebody asks for them (Analysis.Whole).
func (e *cacheEntry) load(withSketch bool) (*Analysis, bool) {
	if !e.usable {
		return nil, false
	}
	a := new(Analysis)
	if !e.read(profileSuffix, &a.Profile, &a.Timbre) {
		return nil, false
	}
	if withSketch {
		if !e.read(sketchSuffix, &a.Sketch) || !e.there(wavesSuffix) {
			return nil, false
		}
		a.waves = &waves{entry: *e}
	}
	return a, true
}

// there tells whether the entry has such a file.
func (e *cacheEntry) there(suffix string) bool {
	st, err := os.Lstat(e.file(suffix))
	return err == nil && entryLike(st)
}

// entryLike tells whether a file may be an entry. What is no plain file (a pipe, a link to a device) is not opened, nor what
// is too large.
func entryLike(st fs.FileInfo) bool { return st.Mode().IsRegular() && st.Size() <= entryLimit }

// read decodes the values of a file of the entry; false if there is no such file or it is not what was written.
func (e *cacheEntry) read(suffix string, values ...any) bool {
	body, ok := e.body(suffix)
	if !ok {
		return false
	}
	decoder := gob.NewDecoder(bytes.NewReader(body))
	for _, v := range values {
		if decoder.Decode(v) != nil {
			return false
		}
	}
	return true
}

// body returns what was written into a file of the entry; false if there is no such file or it is not what was written.
func (e *cacheEntry) body(suffix string) ([]byte, bool) {
	name := e.file(suffix)
	if !e.there(suffix) {
		return nil, false
	}
	content, err := os.ReadFile(name)
	if err != nil {
		return nil, false
	}
	body, ok := bytes.CutPrefix(content, []byte(e.key))
	if !ok || len(body) < sha256.Size {
		return nil, false
	}
	sum := sha256.Sum256(content[:len(content)-sha256.Size])
	body, kept := body[:len(body)-sha256.Size], body[len(body)-sha256.Size:]
	if !bytes.Equal(sum[:], kept) {
		return nil, false
	}
	now := time.Now()
	e.cache.report(os.Chtimes(name, now, now)) // the entries used last are dropped last
	return body, true
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
		rest, sound := splitWaves(a.Sketch)
		if err = e.write(sketchSuffix, rest); err == nil {
			err = e.writeBody(wavesSuffix, sound)
		}
	}
	e.cache.report(err)
	return err == nil
}

// write keeps values.
func (e *cacheEntry) write(suffix string, values ...any) error {
	var body bytes.Buffer
	encoder := gob.NewEncoder(&body)
	for _, v := range values {
		if err := encoder.Encode(v); err != nil {
			return err
		}
	}
	return e.writeBody(suffix, body.Bytes())
}

// writeBody keeps bytes, between the key of the entry and a digest of both.
func (e *cacheEntry) writeBody(suffix string, body []byte) error {
	content := slices.Concat([]byte(e.key), body)
	sum := sha256.Sum256(content)
	content = append(content, sum[:]...)
	if err := os.MkdirAll(e.cache.dir, 0o700); err != nil {
		return err
	}
	temp, err := os.CreateTemp(e.cache.dir, tempPrefix+"*"+suffix)
	if err != nil {
		return err
	}
	_, err = temp.Write(content)
	if err = errors.Join(err, temp.Close()); err == nil {
		err = os.Rename(temp.Name(), e.file(suffix))
	}
	if err != nil {
		return errors.Join(err, os.Remove(temp.Name()))
	}
	return nil
}
