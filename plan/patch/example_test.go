package patch_test

import (
	"fmt"

	"foldout/plan/patch"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// One pair followed to the summing unit.
func ExampleMake() {
	p, err := patch.Make(&sheet.Sheet{Title: "Song", Pairs: []sheet.Pair{
		{Name: "Vocals", Outputs: [2]int{1, 2}, Tracks: []sheet.Placement{{File: "Lead Vox.wav", Bus: "Lead vocals"}}},
	}}, rig.Plain(1))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, line := range p.Lanes[0].Lines {
		fmt.Println(p.Lanes[0].Name, line.Side, "output", line.Output, "to input", line.SummingInput)
	}
	// Output:
	// Vocals L output 1 to input 1
	// Vocals R output 2 to input 2
}
