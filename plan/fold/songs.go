package fold

import (
	"cmp"
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// A song, for secondSong, is at least so many tracks of one length, of so many kinds, so many of which another song has as well
// (chosen; of nine rendered sessions and three real songs none is taken for two songs).
const (
	songTracks = 5
	songKinds  = 3
	songShared = 2
)

// songOf is what tracks of one length are.
type songOf struct {
	seconds float64
	files   []string
	kinds   map[string]bool
}

// secondSong warns of a folder that seems to hold the tracks of two songs: many tracks of one length, of many kinds, and as many of
// another length, of the same kinds. Files of one song share a length, or differ from track to track. It is "" for one song.
func (s *Session) secondSong() string {
	type length struct {
		frames int64
		rate   int
	}
	by := map[length]*songOf{}
	for _, i := range s.Live {
		p := &s.Tracks[i].Profile
		key := length{p.Frames, p.SampleRateHz}
		if by[key] == nil {
			by[key] = &songOf{seconds: p.DurationS, kinds: map[string]bool{}}
		}
		role, _ := s.Belief[i].Best()
		by[key].files = append(by[key].files, p.File)
		by[key].kinds[coarseKind(role)] = true
	}
	songs := slices.DeleteFunc(slices.Collect(maps.Values(by)), func(o *songOf) bool { return len(o.files) < songTracks || len(o.kinds) < songKinds })
	slices.SortFunc(songs, func(a, b *songOf) int {
		return cmp.Or(-cmp.Compare(len(a.files), len(b.files)), cmp.Compare(a.seconds, b.seconds))
	})
	if len(songs) < 2 || shared(songs[0].kinds, songs[1].kinds) < songShared {
		return ""
	}
	var each []string
	for _, o := range songs[:2] {
		each = append(each, fmt.Sprintf("%d tracks of %.2f s (%s)", len(o.files), o.seconds, place(o.files)))
	}
	return "these may be two songs: " + strings.Join(each, " and ") + ", with the same kinds of track in both; if so, fold each in a folder of its own, or --exclude one"
}

// coarseKind is the bus of a role, percussion being one with the kit.
func coarseKind(role string) string {
	if bus := trade.BusFor(role); bus != "Percussion" {
		return bus
	}
	return "Drums"
}

func shared(a, b map[string]bool) (n int) {
	for k := range a {
		if b[k] {
			n++
		}
	}
	return n
}

// place is the folder that all files share, else the first of them and how many there are besides.
func place(files []string) string {
	dir := path.Dir(files[0])
	if dir != "." && !slices.ContainsFunc(files, func(f string) bool { return path.Dir(f) != dir }) {
		return dir
	}
	return fmt.Sprintf("%s and others", sheet.TrackName(files[0]))
}
