package workbench

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
)

// The journal is a file of JSON, one value a line. The first line says what it is; every further line is one act: which
// steps of the history it wrote, how long the history was then, and where in it the person stood. So an act costs as much
// after a thousand others as after none. A line that a dying program left unfinished is passed over: what it held had not
// been shown as done.

// journalSchema marks a file of ours and its layout. Files of layout 1 held the whole history as one value (keptSchema).
const (
	journalSchema = 2
	keptSchema    = 1
)

type journalHead struct {
	Schema int    `json:"foldout_workbench"`
	Folder string `json:"folder"`
}

type journalLine struct {
	Put     []placed `json:"put,omitempty"`
	Len     int      `json:"len"`
	At      int      `json:"at"`
	Version *Version `json:"version,omitempty"`
}

// placed is a step at its place in the history.
type placed struct {
	N    int   `json:"n"`
	Step entry `json:"step"`
}

// kept is layout 1.
type kept struct {
	Schema   int       `json:"foldout_workbench"`
	Folder   string    `json:"folder"`
	At       int       `json:"at"`
	History  []entry   `json:"history"`
	Versions []Version `json:"versions"`
}

// keeper writes the history beside the folder, never into it, and never over a file that is not ours.
type keeper struct {
	path     string
	folder   string
	apart    string // why it does not lie beside the folder, "" where it does
	versions []Version

	history []entry // as the file has it
	at      int     // likewise
	kept    int     // versions that the file has
	size    int64   // of the file; another program may make it longer
	torn    bool    // the last line of the file has no end
}

// openKeeper finds what was kept of a folder. Where the folder above cannot be written to, the file lies with the list
// of recent sessions.
func openKeeper(folder, recent string) (k *keeper, history []entry, at int, err error) {
	k = &keeper{folder: folder}
	places := []string{filepath.Join(filepath.Dir(folder), filepath.Base(folder))}
	if recent != "" {
		sum := sha256.Sum256([]byte(folder))
		places = append(places, filepath.Join(filepath.Dir(recent), "sessions", filepath.Base(folder)+"-"+hex.EncodeToString(sum[:6])))
	}
	var last error
	for n, place := range places {
		if n > 0 {
			if err := os.MkdirAll(filepath.Dir(place), 0o700); err != nil {
				return nil, nil, 0, err
			}
			k.apart = last.Error()
		}
		for try := 1; ; try++ {
			k.path = place + numbered(try) + ".foldout.jsonl"
			history, at, err := k.read()
			if err == nil {
				return k, history, at, nil
			}
			if errors.Is(err, os.ErrNotExist) {
				break
			}
		}
		if last = writable(filepath.Dir(k.path)); last == nil {
			history, at := k.layoutOne(place)
			return k, history, at, nil
		}
	}
	return nil, nil, 0, fmt.Errorf("nothing can be kept: %w", last)
}

func numbered(try int) string {
	if try == 1 {
		return ""
	}
	return fmt.Sprintf("-%d", try)
}

// layoutOne takes over what an earlier version of the program kept; its file stays as it is.
func (k *keeper) layoutOne(place string) (history []entry, at int) {
	for try := 1; ; try++ {
		data, err := os.ReadFile(place + numbered(try) + ".foldout.json")
		if err != nil {
			return nil, 0
		}
		var doc kept
		if json.Unmarshal(data, &doc) != nil || doc.Schema != keptSchema || doc.Folder != k.folder || doc.At < 0 || doc.At >= len(doc.History) ||
			slices.ContainsFunc(doc.History, func(e entry) bool { return e.Choice == nil }) {
			continue
		}
		k.versions = slices.DeleteFunc(doc.Versions, func(v Version) bool { return v.Choice == nil })
		return doc.History, doc.At
	}
}

var errNotOurs = errors.New("not a journal of this session")

// read reads the file at path and remembers what it holds.
func (k *keeper) read() (history []entry, at int, err error) {
	data, err := os.ReadFile(k.path)
	if err != nil {
		return nil, 0, err
	}
	lines := bytes.Split(data, []byte("\n"))
	var head journalHead
	if json.Unmarshal(lines[0], &head) != nil || head.Schema != journalSchema || head.Folder != k.folder {
		return nil, 0, errNotOurs
	}
	var versions []Version
	for _, text := range lines[1:] {
		var l journalLine
		if len(text) == 0 || json.Unmarshal(text, &l) != nil {
			continue
		}
		next, ok := l.apply(history)
		if !ok {
			continue
		}
		history, at = next, l.At
		if l.Version != nil && l.Version.Choice != nil {
			versions = append(versions, *l.Version)
		}
	}
	if len(history) == 0 {
		return nil, 0, errNotOurs
	}
	k.versions, k.history, k.at, k.kept = versions, slices.Clone(history), at, len(versions)
	k.size, k.torn = int64(len(data)), len(lines[len(lines)-1]) > 0
	return history, at, nil
}

// apply does to a history what a line says; ok is false for a line that does not fit it.
func (l *journalLine) apply(history []entry) (_ []entry, ok bool) {
	next := slices.Clone(history)
	for _, p := range l.Put {
		switch {
		case p.Step.Choice == nil || p.N < 0 || p.N > len(next):
			return nil, false
		case p.N == len(next):
			next = append(next, p.Step)
		default:
			next[p.N] = p.Step
		}
	}
	if l.Len < 1 || l.Len > len(next) || l.At < 0 || l.At >= l.Len {
		return nil, false
	}
	return next[:l.Len], true
}

// writable tells whether files can be made in a folder.
func writable(dir string) error {
	f, err := os.CreateTemp(dir, ".foldout-*")
	if err != nil {
		return err
	}
	return errors.Join(f.Close(), os.Remove(f.Name()))
}

// moved tells whether another program has written to the file.
func (k *keeper) moved() bool {
	info, err := os.Stat(k.path)
	return err == nil && info.Size() != k.size
}

// write appends what is new in the history.
func (k *keeper) write(history []entry, at int) error {
	if _, err := os.Stat(k.path); errors.Is(err, os.ErrNotExist) {
		k.history, k.kept, k.size, k.torn = nil, 0, 0, false
	}
	var b bytes.Buffer
	if k.size == 0 {
		if err := addLine(&b, journalHead{journalSchema, k.folder}); err != nil {
			return err
		}
	} else if k.torn {
		b.WriteByte('\n')
	}
	l := journalLine{Len: len(history), At: at}
	for n, e := range history {
		if n >= len(k.history) || k.history[n].Choice != e.Choice || k.history[n].Name != e.Name {
			l.Put = append(l.Put, placed{n, e})
		}
	}
	if k.size > 0 && len(l.Put) == 0 && l.Len == len(k.history) && at == k.at && k.kept == len(k.versions) {
		return nil // it says so already
	}
	if err := addLine(&b, l); err != nil {
		return err
	}
	for i := k.kept; i < len(k.versions); i++ {
		if err := addLine(&b, journalLine{Len: len(history), At: at, Version: &k.versions[i]}); err != nil {
			return err
		}
	}
	if err := k.add(b.Bytes()); err != nil {
		return fmt.Errorf("what you did could not be kept, so it was not done: %w", err)
	}
	k.history, k.at, k.kept, k.torn = slices.Clone(history), at, len(k.versions), false
	return nil
}

func addLine(b *bytes.Buffer, v any) error {
	data, err := json.Marshal(v)
	b.Write(append(data, '\n'))
	return err
}

// add appends to the file, or makes it. What could be written in part only is taken off again.
func (k *keeper) add(data []byte) (err error) {
	how := os.O_WRONLY | os.O_APPEND
	if k.size == 0 {
		how |= os.O_CREATE | os.O_EXCL
	}
	f, err := os.OpenFile(k.path, how, 0o644)
	if err != nil {
		return err
	}
	info, err := f.Stat()
	if err != nil {
		return errors.Join(err, f.Close())
	}
	if _, err = f.Write(data); err == nil {
		err = f.Sync()
	}
	if err != nil {
		return errors.Join(err, f.Truncate(info.Size()), f.Close())
	}
	k.size += int64(len(data))
	return f.Close()
}
