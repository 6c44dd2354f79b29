package workbench

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// keptSchema marks a file of ours and its layout.
const keptSchema = 1

// kept is what is written after every act.
type kept struct {
	Schema   int       `json:"foldout_workbench"`
	Folder   string    `json:"folder"`
	At       int       `json:"at"`
	History  []entry   `json:"history"`
	Versions []Version `json:"versions"`
}

// Version is a step of the history that somebody gave a name.
type Version struct {
	Name   string    `json:"name"`
	Time   time.Time `json:"time"`
	Choice *Choice   `json:"choice"`
}

// keeper writes the history beside the folder, never into it, and never over a file that is not ours.
type keeper struct {
	path     string
	folder   string
	apart    string // why it does not lie beside the folder, "" where it does
	versions []Version
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
			k.path = place + ".foldout.json"
			if try > 1 {
				k.path = fmt.Sprintf("%s-%d.foldout.json", place, try)
			}
			doc, err := readKept(k.path)
			if errors.Is(err, os.ErrNotExist) {
				break
			}
			if err == nil && doc.Schema == keptSchema && doc.Folder == folder && len(doc.History) > 0 && doc.At >= 0 && doc.At < len(doc.History) {
				k.versions = doc.Versions
				return k, doc.History, doc.At, nil
			}
		}
		if last = writable(filepath.Dir(k.path)); last == nil {
			return k, nil, 0, nil
		}
	}
	return nil, nil, 0, fmt.Errorf("nothing can be kept: %w", last)
}

func readKept(path string) (*kept, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var doc kept
	if err := json.Unmarshal(data, &doc); err != nil {
		return nil, err
	}
	for _, e := range doc.History {
		if e.Choice == nil {
			return nil, errors.New("a step of the history is empty")
		}
	}
	doc.Versions = slices.DeleteFunc(doc.Versions, func(v Version) bool { return v.Choice == nil })
	return &doc, nil
}

// writable tells whether files can be made in a folder.
func writable(dir string) error {
	f, err := os.CreateTemp(dir, ".foldout-*")
	if err != nil {
		return err
	}
	return errors.Join(f.Close(), os.Remove(f.Name()))
}

// write keeps the history.
func (k *keeper) write(history []entry, at int) error {
	data, err := json.Marshal(kept{keptSchema, k.folder, at, history, k.versions})
	if err != nil {
		return err
	}
	if err := replace(k.path, data); err != nil {
		return fmt.Errorf("what you did could not be kept, so it was not done: %w", err)
	}
	return nil
}

// replace writes a file under a temporary name and renames it.
func replace(path string, data []byte) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()           //nolint:errcheck // the first error counts
			os.Remove(f.Name()) //nolint:errcheck // likewise
		}
	}()
	if _, err = f.Write(data); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// fresh writes a file under a name that is free: "name.ext", "name-2.ext" ... and returns its path.
func fresh(dir, name, ext string, data []byte) (string, error) {
	for n := 1; ; n++ {
		path := filepath.Join(dir, name+ext)
		if n > 1 {
			path = filepath.Join(dir, fmt.Sprintf("%s-%d%s", name, n, ext))
		}
		if same, err := os.ReadFile(path); err == nil && string(same) == string(data) {
			return path, nil // it is there already
		}
		f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if errors.Is(err, os.ErrExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		_, err = f.Write(data)
		if err = errors.Join(err, f.Close()); err != nil {
			return "", errors.Join(err, os.Remove(path))
		}
		return path, nil
	}
}

// Recent is a session that was open before.
type Recent struct {
	Folder string    `json:"folder"`
	Title  string    `json:"title"`
	Tracks int       `json:"tracks"`
	Time   time.Time `json:"time"`
}

const mostRecent = 12

// recent lists sessions that were open before and are still there, the last first.
func (b *Bench) recent() []Recent {
	list := []Recent{}
	data, err := os.ReadFile(b.opt.Recent)
	if err != nil || json.Unmarshal(data, &list) != nil {
		return []Recent{}
	}
	return slices.DeleteFunc(list, func(r Recent) bool {
		info, err := os.Stat(r.Folder)
		return err != nil || !info.IsDir()
	})
}

// remember puts a session at the head of the list. A list that cannot be kept is no reason to stop anybody: it is for
// comfort only.
func (b *Bench) remember(s *session) {
	if b.opt.Recent == "" {
		return
	}
	s.mu.Lock()
	now := Recent{Folder: s.folder, Title: s.doc.Title, Tracks: len(s.tracks), Time: time.Now().UTC().Truncate(time.Second)}
	s.mu.Unlock()
	list := slices.DeleteFunc(b.recent(), func(r Recent) bool { return r.Folder == now.Folder })
	list = slices.Insert(list, 0, now)
	data, err := json.Marshal(list[:min(len(list), mostRecent)])
	if err == nil {
		if err = os.MkdirAll(filepath.Dir(b.opt.Recent), 0o700); err == nil {
			err = replace(b.opt.Recent, data)
		}
	}
	if err != nil {
		b.events.Send("note", map[string]string{"text": "The list of recent sessions could not be kept: " + err.Error()})
	}
}
