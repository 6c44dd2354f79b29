package fold_test

import (
	"fmt"

	"foldout/features"
	"foldout/plan/fold"
)

// Tracks that are only named, not heard: each stands for a measured file.
func ExamplePrepare() {
	var tracks []*features.Analysis
	for i, name := range []string{"Kick In.wav", "Snare Top.wav", "Lead Vox.wav", "BV 1.wav"} {
		tracks = append(tracks, &features.Analysis{Profile: features.Profile{File: name, Channels: 1, Frames: 1, CentroidHz: features.Positive(100 * (i + 1)), DurationS: 60 + float64(i), ActiveShare: 1}})
	}
	session, err := fold.Prepare("/songs/Harbour Lights", tracks, fold.Options{Pairs: 2, Seed: 1, Kin: fold.Kin{}})
	if err != nil {
		fmt.Println(err)
		return
	}
	doc, err := session.Suggest()
	if err != nil {
		fmt.Println(err)
		return
	}
	for n, p := range doc.Pairs {
		for _, t := range p.Tracks {
			fmt.Println(n+1, p.Name, t.File)
		}
	}
	// Output:
	// 1 Drums Kick In.wav
	// 1 Drums Snare Top.wav
	// 2 Vocals Lead Vox.wav
	// 2 Vocals BV 1.wav
}
