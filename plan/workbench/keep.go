package workbench

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// Version is a step of the history that somebody gave a name.
type Version struct {
	Name   string    `json:"name"`
	Time   time.Time `json:"time"`
	Choice *Choice   `json:"choice"`
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
