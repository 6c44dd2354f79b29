// Package trade is what the trade knows of the kinds of track: the roles as a tree with heights, the kind and bus of a
// role, the order on a sheet, which roles share a pair and which are seldom parted, what pairs are called, and why buses
// share one. Common practice, no source, unless said otherwise.
package trade

import (
	"math"
	"slices"
)

var RoleIndex = func() map[string]int {
	m := map[string]int{}
	for i, r := range Roles {
		m[r] = i
	}
	return m
}()

// Kit are the kinds of track that make up a drum kit.
var Kit = map[string]bool{"Drums": true, "Cymbals": true, "Drum room": true}

// TreeDistance is the squared distance of two pure roles: the height of the node of the tree where they meet.
func TreeDistance(r, o int) float64 {
	var d float64
	for _, b := range Branches {
		if slices.Contains(b.Roles, r) != slices.Contains(b.Roles, o) {
			d += b.Scale * b.Scale
		}
	}
	return d
}

// The trade's habits as a tree (common practice, no source): which kinds of track an engineer keeps together for
// longest when the pairs run out. A leaf is a role; the height of a node is the squared distance between two roles
// that meet there, so what meets low shares a pair first.
//
// The heights were chosen by drawing 300 random instrumentations, folding the pure roles onto 4 and 8 pairs
// and counting how often the result is one of the folds engineers use; see TestTheTreeFoldsAsTheTradeDoes.
type Node struct {
	Name   string
	Parent string
	Height float64 // squared distance between leaves that meet in this node; 0 for leaves
}

const rootNode = "mix"

var Tree = []Node{
	{rootNode, "", 7},
	{"rhythm", rootNode, 2.5},
	{"band", rootNode, 3.2},
	{"voices", rootNode, 0.7},

	{"drums and percussion", "rhythm", 0.6},
	{"kit", "drums and percussion", 0.12},
	{"drums in the room", "kit", 0.06},
	{"close drums", "drums in the room", 0.03},
	{"kick", "close drums", 0},
	{"snare", "close drums", 0},
	{"tom", "close drums", 0},
	{"drums", "close drums", 0},
	{"room", "drums in the room", 0},
	{"cymbals", "kit", 0.03},
	{"hat", "cymbals", 0},
	{"cymbal", "cymbals", 0},
	{"overhead", "cymbals", 0},
	{"percussion", "drums and percussion", 0},
	{"bass", "rhythm", 0},

	{"guitars", "band", 0.5},
	{"electric guitar", "guitars", 0},
	{"acoustic guitar", "guitars", 0},
	{"keys, strings and horns", "band", 2.2},
	{"keys and synths", "keys, strings and horns", 0.3},
	{"keys", "keys and synths", 0.03},
	{"piano", "keys", 0},
	{"organ", "keys", 0},
	{"synth", "keys and synths", 0},
	{"strings and horns", "keys, strings and horns", 0.4},
	{"strings", "strings and horns", 0},
	{"horns", "strings and horns", 0},

	{"lead vocal", "voices", 0},
	{"backing vocal", "voices", 0},
}

// Roles are the leaves of the tree.
var Roles = leaves()

// KindOf names the kind of track each role is: the groups of roles that a fold onto few pairs does not cut.
var KindOf = map[string]string{
	"kick": "Drums", "snare": "Drums", "tom": "Drums", "drums": "Drums",
	"hat": "Cymbals", "cymbal": "Cymbals", "overhead": "Cymbals", "room": "Drum room",
	"percussion": "Percussion", "bass": "Bass",
	"electric guitar": "Electric guitars", "acoustic guitar": "Acoustic guitars",
	"piano": "Keys", "organ": "Keys", "synth": "Synths", "strings": "Strings", "horns": "Horns",
	"lead vocal": "Lead vocals", "backing vocal": "Backing vocals",
}

// BusFor names the bus of a role: its kind, with the whole drum kit on one bus.
func BusFor(role string) string {
	switch k := KindOf[role]; k {
	case "Cymbals", "Drum room":
		return "Drums"
	default:
		return k
	}
}

// SheetOrder is the order in which a sheet lists roles: as channels are usually laid out (common practice, no source).
var SheetOrder = []string{
	"kick", "snare", "tom", "hat", "cymbal", "overhead", "room", "drums", "percussion", "bass", "electric guitar", "acoustic guitar",
	"piano", "organ", "synth", "strings", "horns", "lead vocal", "backing vocal",
}

func leaves() []string {
	inner := map[string]bool{}
	for _, n := range Tree {
		inner[n.Parent] = true
	}
	var out []string
	for _, n := range Tree {
		if !inner[n.Name] {
			out = append(out, n.Name)
		}
	}
	return out
}

// branch is one edge of the tree as a coordinate of the space: the probability of all roles below the node, times
// the square root of half the difference in height, so that squared Euclidean distance between two pure roles is the
// height of the node where they meet.
type branch struct {
	Name  string
	Scale float64
	Roles []int // indices into Roles
}

var Branches = makeBranches()

func makeBranches() []branch {
	at := map[string]Node{}
	for _, n := range Tree {
		at[n.Name] = n
	}
	below := map[string][]int{}
	for i, r := range Roles {
		for n := r; n != rootNode; n = at[n].Parent {
			below[n] = append(below[n], i)
		}
	}
	var out []branch
	for _, n := range Tree[1:] {
		edge := (at[n.Parent].Height - n.Height) / 2
		out = append(out, branch{n.Name, math.Sqrt(edge), below[n.Name]})
	}
	return out
}
