package plan

import (
	"path"
	"strings"

	"golang.org/x/text/unicode/norm"
)

// finder looks tracks up by what people call them.
type finder struct {
	rounds [4]map[string][]int
}

// newFinder takes the paths of tracks.
func newFinder(files []string) *finder {
	f := &finder{}
	for k := range f.rounds {
		f.rounds[k] = map[string][]int{}
		for i, file := range files {
			key := trackKeys(file)[k]
			f.rounds[k][key] = append(f.rounds[k][key], i)
		}
	}
	return f
}

// all returns the tracks that a name fits, by the strictest reading that fits any.
func (f *finder) all(name string) []int {
	for k, key := range trackKeys(name) {
		if hits := f.rounds[k][key]; len(hits) > 0 {
			return hits
		}
	}
	return nil
}

// trackKeys are the readings of a track's name, strictest first: path, file, file without extension, that with runs of
// spaces, underscores, dots and hyphens taken for one space.
func trackKeys(name string) [4]string {
	full := strings.ToLower(norm.NFC.String(strings.TrimSpace(strings.ReplaceAll(name, `\`, "/"))))
	full = strings.TrimPrefix(full, "./")
	base := path.Base(full)
	stem := base
	switch ext := path.Ext(base); ext {
	case ".wav", ".wave", ".bwf", ".rf64", ".w64", ".aif", ".aiff", ".flac", ".mp3":
		stem = strings.TrimSuffix(base, ext)
	}
	loose := strings.Join(strings.FieldsFunc(stem, func(r rune) bool { return strings.ContainsRune(" _.-\t\u00a0", r) }), " ")
	return [4]string{full, base, stem, loose}
}
