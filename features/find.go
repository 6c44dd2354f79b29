package features

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// audioExtensions are the names' endings of the formats that can be read.
var audioExtensions = []string{".wav", ".wave", ".bwf", ".rf64", ".aif", ".aiff", ".aifc", ".flac"}

// Find lists the audio files below a folder, at any depth: names ending as in audioExtensions, in any case, in natural order (2
// before 10, case does not matter). Links to files are taken, links to folders are not followed. Names starting with
// a dot are not taken, which spares the reader the shadow files some systems leave on foreign disks.
//
// skipped lists all other files, in the same order, of hidden ones only those with the ending of an audio file; PassedOver says
// what they are. A folder that cannot be read is an error, since tracks may be in it.
func Find(folder string) (files, skipped []string, err error) {
	st, err := os.Stat(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, plainError{folder + ": there is no such folder", err}
	}
	if err != nil {
		return nil, nil, err
	}
	if !st.IsDir() {
		return nil, nil, fmt.Errorf("%s is a file; give the folder the tracks are in", folder)
	}
	// A trailing separator makes the walk enter a folder that is itself given as a link.
	err = filepath.WalkDir(folder+string(filepath.Separator), func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrPermission) {
			return plainError{filepath.Clean(path) + ": you are not allowed to look into this folder, and tracks may be in it; change its permissions or move it away", err}
		}
		if err != nil {
			return err
		}
		path = filepath.Clean(path)
		if path == filepath.Clean(folder) {
			return nil
		}
		if strings.HasPrefix(d.Name(), ".") {
			if d.IsDir() {
				return fs.SkipDir
			}
			if NamedAsAudio(path) {
				skipped = append(skipped, path)
			}
			return nil
		}
		if d.IsDir() {
			return nil
		}
		isAudio := NamedAsAudio(path)
		if target, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) || err == nil && !target.Mode().IsRegular() {
			isAudio = false // a dangling link, a link to a folder, a pipe
		}
		if isAudio {
			files = append(files, path)
		} else {
			skipped = append(skipped, path)
		}
		return nil
	})
	if err != nil {
		return nil, nil, err
	}
	slices.SortFunc(files, NaturalCompare)
	slices.SortFunc(skipped, NaturalCompare)
	return files, skipped, nil
}

// NamedAsAudio reports whether a name ends as those of the formats that can be read do, in any case.
func NamedAsAudio(path string) bool {
	return slices.Contains(audioExtensions, strings.ToLower(filepath.Ext(path)))
}

// plainError says in plain words what an error of the system means here.
type plainError struct {
	text  string
	cause error
}

func (e plainError) Error() string { return e.text }

func (e plainError) Unwrap() error { return e.cause }

// NaturalCompare orders names as people do: runs of digits by their value, letters without regard to case, a folder's
// own files before those of folders whose names it begins. Names that differ only in case or leading zeros are put in
// byte order, so that the order is total. It returns -1, 0 or 1.
func NaturalCompare(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		if isDigit(x[0]) && isDigit(y[0]) {
			m, n := digits(x), digits(y)
			if c := compareDigits(x[:m], y[:n]); c != 0 {
				return c
			}
			x, y = x[m:], y[n:]
			continue
		}
		r, m := utf8.DecodeRuneInString(x)
		s, n := utf8.DecodeRuneInString(y)
		if c := rank(r) - rank(s); c != 0 {
			return sign(int(c))
		}
		x, y = x[m:], y[n:]
	}
	if c := len(x) - len(y); c != 0 {
		return sign(c)
	}
	return strings.Compare(a, b)
}

// rank orders letters; a path's separator comes before all of them.
func rank(r rune) rune {
	if r == '/' || r == filepath.Separator {
		return -1
	}
	return unicode.ToLower(r)
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func digits(s string) int {
	n := 0
	for n < len(s) && isDigit(s[n]) {
		n++
	}
	return n
}

// compareDigits compares runs of digits of any length by value.
func compareDigits(a, b string) int {
	a, b = strings.TrimLeft(a, "0"), strings.TrimLeft(b, "0")
	if c := len(a) - len(b); c != 0 {
		return sign(c)
	}
	return strings.Compare(a, b)
}

func sign(n int) int {
	switch {
	case n < 0:
		return -1
	case n > 0:
		return 1
	}
	return 0
}
