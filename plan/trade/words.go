package trade

// Singular is what one track of a kind is called, where that is another word.
var Singular = map[string]string{"drums": "drum track", "electric guitars": "electric guitar", "acoustic guitars": "acoustic guitar",
	"keys": "keyboard", "synths": "synth", "strings": "string track", "horns": "horn", "lead vocals": "lead vocal", "backing vocals": "backing vocal"}

func WithArticle(role string) string {
	switch role {
	case "percussion", "strings", "horns", "drums":
		return role
	case "electric guitar", "acoustic guitar", "organ", "overhead":
		return "an " + role
	case "room":
		return "a drum room"
	}
	return "a " + role
}
