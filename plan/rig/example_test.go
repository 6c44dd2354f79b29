package rig_test

import (
	"fmt"

	"foldout/plan/rig"
)

// A plain rig of four pairs, and what it leaves free.
func ExamplePlain() {
	pairs, _, err := rig.Plain(4).Pairs()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range pairs {
		fmt.Println(p.Outputs, "->", p.SummingInputs)
	}
	// Output:
	// [1 2] -> [1 2]
	// [3 4] -> [3 4]
	// [5 6] -> [5 6]
	// [7 8] -> [7 8]
}
