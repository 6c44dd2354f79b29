package sheet

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
)

// maxSheetBytes bounds what is read as a sheet; a session of a thousand tracks makes one of about a megabyte.
const maxSheetBytes = 64 << 20

// Load reads a sheet saved as JSON. Errors name the file, what is wrong with it and how to make a good one.
func Load(path string) (*Sheet, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	s, err := Read(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w; a sheet is what foldout suggest --format json --out FILE writes", path, err)
	}
	return s, nil
}

// maxParts bounds the objects in a sheet, of which every track has some twenty: sixty megabytes of empty ones would take
// gigabytes of memory.
const maxParts = 500_000

// parts counts the objects that begin in JSON, outside its strings.
func parts(data []byte) int {
	n, quoted := 0, false
	for i := 0; i < len(data); i++ {
		switch c := data[i]; {
		case c == '"':
			quoted = !quoted
		case quoted && c == '\\':
			i++
		case !quoted && c == '{':
			n++
		}
	}
	return n
}

// maxPairs bounds the pairs of a sheet: many times what any studio has line outputs for.
const maxPairs = 1024

// Read reads a sheet from JSON and checks that it hangs together: a known schema, tracks named, none twice.
func Read(r io.Reader) (*Sheet, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxSheetBytes+1))
	if err != nil {
		return nil, err
	}
	if len(data) > maxSheetBytes {
		return nil, fmt.Errorf("more than %d MB are no sheet", maxSheetBytes>>20)
	}
	data = bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF")) // some editors put it in front
	if len(bytes.TrimSpace(data)) == 0 {
		return nil, errors.New("the file is empty")
	}
	if parts(data) > maxParts {
		return nil, fmt.Errorf("more than %d parts in one file are no sheet", maxParts)
	}
	var s Sheet
	if err := json.Unmarshal(data, &s); err != nil {
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			return nil, fmt.Errorf("not a sheet: faulty JSON at byte %d (%w)", syntax.Offset, err)
		}
		var kind *json.UnmarshalTypeError
		if errors.As(err, &kind) && kind.Field != "" {
			return nil, fmt.Errorf("not a sheet: %q holds a %s, which does not belong there (byte %d)", kind.Field, kind.Value, kind.Offset)
		}
		return nil, errors.New("not a sheet: the JSON in it is something else")
	}
	if s.Schema < 1 || s.Schema > SchemaVersion {
		return nil, fmt.Errorf("not a sheet this version can read: schema %d, want 1 to %d", s.Schema, SchemaVersion)
	}
	if len(s.Pairs) == 0 {
		return nil, errors.New("the sheet has no pairs")
	}
	if len(s.Pairs) > maxPairs {
		return nil, fmt.Errorf("the sheet has %d pairs; want at most %d", len(s.Pairs), maxPairs)
	}
	on := map[string]int{}
	for n, p := range s.Pairs {
		if p.Outputs != [2]int{} && min(p.Outputs[0], p.Outputs[1]) < 1 {
			return nil, fmt.Errorf("pair %d is on outputs %d/%d; outputs are counted from 1", n+1, p.Outputs[0], p.Outputs[1])
		}
		for _, t := range p.Tracks {
			if t.File == "" {
				return nil, fmt.Errorf("pair %d has a track without a file", n+1)
			}
			if first, ok := on[t.File]; ok {
				return nil, fmt.Errorf("%s is on pair %d and on pair %d", t.File, first, n+1)
			}
			on[t.File] = n + 1
		}
	}
	return &s, nil
}
