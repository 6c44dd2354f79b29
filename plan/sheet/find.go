package sheet

import (
	"cmp"
	"fmt"
	"path"
	"slices"
	"strings"

	"github.com/adrg/strutil"
	"github.com/adrg/strutil/metrics"
	"golang.org/x/text/unicode/norm"

	"foldout/features"
)

// Finder looks tracks up by what people call them.
type Finder struct {
	files  []string
	rounds [5]map[string][]int
}

// NewFinder takes the paths of tracks.
func NewFinder(files []string) *Finder {
	f := &Finder{files: files}
	for k := range f.rounds {
		f.rounds[k] = map[string][]int{}
		for i, file := range files {
			key := fileKeys(file)[k]
			f.rounds[k][key] = append(f.rounds[k][key], i)
		}
	}
	return f
}

// All returns the tracks that a name fits, by the strictest reading that fits any. Last of all, a name without a number
// fits a file that has one in front: "Kick In" is "01 Kick In.wav".
func (f *Finder) All(name string) []int {
	if i := slices.Index(f.files, name); i >= 0 {
		return []int{i} // letter by letter: "Kick.wav" beside "kick.wav"
	}
	keys := trackKeys(name)
	for k, key := range append(keys[:], keys[3]) {
		if hits := f.rounds[k][key]; len(hits) > 0 {
			return hits
		}
	}
	return nil
}

// One returns the only track that a name fits. The error says which ones fit, or which come near.
func (f *Finder) One(name string) (int, error) {
	hits := f.All(name)
	switch len(hits) {
	case 1:
		return hits[0], nil
	case 0:
		if near := f.Near(name); near != "" {
			return 0, fmt.Errorf("no track is called %q; did you mean %s?", name, near)
		}
		return 0, fmt.Errorf("no track is called %q; names are file names, with or without .wav", name)
	}
	var fitting []string
	for _, i := range hits[:min(len(hits), mostNear)] {
		fitting = append(fitting, f.files[i])
	}
	return 0, fmt.Errorf("%d tracks are called %q (%s); give the folder and the number too", len(hits), name, strings.Join(fitting, ", "))
}

const (
	mostNear  = 3   // names to suggest
	nearShare = 0.6 // similarity below which a suggestion would be a guess (chosen by trying misspelt names)
)

// Near names the tracks that one which fits none may be meant for, "" if none comes near: "01 Kick In" or "02 Kick Out".
func (f *Finder) Near(name string) string { return strings.Join(f.near(name), " or ") }

// near lists names like one that fits no track: those that contain it, or else the most similar.
func (f *Finder) near(name string) []string {
	want := fileKeys(name)[4]
	if want == "" {
		return nil
	}
	metric := metrics.NewLevenshtein()
	type candidate struct {
		name  string
		share float64
	}
	var found []candidate
	for _, file := range f.files {
		bare := fileKeys(file)[4]
		share := strutil.Similarity(want, bare, metric)
		if strings.Contains(bare, want) {
			share++
		}
		if share >= nearShare {
			found = append(found, candidate{fmt.Sprintf("%q", TrackName(file)), share})
		}
	}
	slices.SortStableFunc(found, func(a, b candidate) int { return cmp.Compare(b.share, a.share) })
	var names []string
	for _, c := range found[:min(len(found), mostNear)] {
		names = append(names, c.name)
	}
	return names
}

// fileKeys are the readings of a file's name: those of trackKeys, and the last of them without a number in front.
func fileKeys(file string) [5]string {
	k := trackKeys(file)
	bare := k[3]
	if rest := strings.TrimLeft(bare, "0123456789"); rest != bare && strings.HasPrefix(rest, " ") {
		bare = rest[1:]
	}
	return [5]string{k[0], k[1], k[2], k[3], bare}
}

// trackKeys are the readings of a track's name, strictest first: path, file, file without extension, that with runs of
// spaces, underscores, dots and hyphens taken for one space.
func trackKeys(name string) [4]string {
	full := strings.ToLower(norm.NFC.String(strings.TrimSpace(strings.ReplaceAll(name, `\`, "/"))))
	full = strings.TrimPrefix(full, "./")
	base := path.Base(full)
	stem := base
	if ext := path.Ext(base); features.NamedAsAudio(base) || ext == ".w64" || ext == ".mp3" { // a table may be older than the files
		stem = strings.TrimSuffix(base, ext)
	}
	loose := strings.Join(strings.FieldsFunc(stem, func(r rune) bool { return strings.ContainsRune(" _.-\t\u00a0", r) }), " ")
	return [4]string{full, base, stem, loose}
}
