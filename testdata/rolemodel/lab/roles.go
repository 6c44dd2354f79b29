// Package lab fits the table of package ears and says how it does on material it has not heard.
//
// In go labelled vectors of package timbre as the tool in dump writes them, kept here in compact form (Set); out come the
// weights of a multinomial logistic model (Model), its table as CSV, and scores of models that never met the body of
// material they are tried on (Cross).
package lab

// Roles are the roles the model tells apart, in the table's order.
var Roles = []string{"kick", "snare", "tom", "drums", "hat", "cymbal", "overhead", "room", "percussion", "bass",
	"electric guitar", "acoustic guitar", "piano", "organ", "synth", "strings", "horns", "lead vocal", "backing vocal"}

// Families are the smallest units that folds never cut; Coarse are the four kinds that a fold onto four pairs keeps apart.
var (
	Families = []string{"dclose", "dcym", "room", "perc", "bass", "egtr", "agtr", "keys", "synth", "strings", "horns",
		"lead", "bgv"}
	Coarse = []string{"rhythm", "guitars", "keys, strings and horns", "voices"}
)

var familyOfRole = []int{0, 0, 0, 0, 1, 1, 1, 2, 3, 4, 5, 6, 7, 7, 8, 9, 10, 11, 12}

var coarseOfFamily = []int{0, 0, 0, 0, 0, 1, 1, 2, 2, 2, 2, 3, 3}

// roleOfReturn is the role that an effect return of a family counts as.
var roleOfReturn = map[string]string{"dclose": "drums", "dcym": "overhead", "room": "room", "perc": "percussion",
	"bass": "bass", "egtr": "electric guitar", "agtr": "acoustic guitar", "keys": "piano", "synth": "synth",
	"strings": "strings", "horns": "horns", "lead": "lead vocal", "bgv": "backing vocal"}

func index(list []string, s string) int {
	for i, v := range list {
		if v == s {
			return i
		}
	}
	return -1
}

// FamilyOf is the family of a role, -1 for a name that is none.
func FamilyOf(role string) int {
	if r := index(Roles, role); r >= 0 {
		return familyOfRole[r]
	}
	return -1
}

// CoarseOf is the coarse kind of a family.
func CoarseOf(family int) int { return coarseOfFamily[family] }
