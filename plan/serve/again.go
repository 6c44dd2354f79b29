package serve

import (
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"time"
)

// An address that is kept lets a page go on when its program is started again. The choices, for safety's sake: the file
// lies in a folder of the person alone and is readable for them alone, not beside the tracks, which may be on a shared
// disk; it is good for a day; and an address whose port somebody else has meanwhile is forgotten with its token for good,
// since the page may have called there and shown it.

const goodFor = 24 * time.Hour

type address struct {
	Port  int       `json:"port"`
	Token string    `json:"token"`
	Time  time.Time `json:"time"`
}

var tokenForm = regexp.MustCompile(`^[0-9a-f]{32}$`)

// NewAgain is New at the address that a file keeps, if that is recent and free, else at a new one. Run keeps the address in
// the file, from its beginning and to its end. Errors are those of listening.
func NewAgain(handler http.Handler, file string) (*Server, error) {
	if last, ok := readAddress(file); ok {
		if listener, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(last.Port))); err == nil {
			s := newServer(handler, listener, last.Token)
			s.kept = file
			return s, nil
		}
	}
	s, err := New(handler)
	if err == nil {
		s.kept = file
	}
	return s, err
}

// readAddress reads a kept address; ok is false where there is none that may be used again.
func readAddress(file string) (last address, ok bool) {
	data, err := os.ReadFile(file)
	if err != nil || json.Unmarshal(data, &last) != nil {
		return last, false
	}
	if info, err := os.Stat(file); err != nil || runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 { // Windows keeps it by the folder
		return last, false
	}
	age := time.Since(last.Time)
	return last, tokenForm.MatchString(last.Token) && age < goodFor && age > -time.Minute && last.Port > 1023 && last.Port < 1<<16
}

// keep writes the address down where it is to be kept.
func (s *Server) keep() (err error) {
	at, isTCP := s.listener.Addr().(*net.TCPAddr)
	if s.kept == "" || !isTCP {
		return nil
	}
	defer func() {
		if err != nil {
			err = fmt.Errorf("the address cannot be kept for the next start: %w", err)
		}
	}()
	data, err := json.Marshal(address{at.Port, s.token, time.Now().UTC()})
	if err != nil {
		return err
	}
	dir := filepath.Dir(s.kept)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(dir, ".address-*") // for the person alone, by its documentation
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), s.kept)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}
