// Command beliefs writes what is believed of each track of labelled sessions, with names and without, as a line of JSON for each
// of the two, for copies.py. Roles have the order of trade.Roles.
//
//	go run ./testdata/kinship/beliefs SESSION... > beliefs.jsonl
package main

import (
	"context"
	"encoding/json"
	"fmt"
	"log"
	"os"
	"path/filepath"

	"foldout/features"
	"foldout/plan/fold"
	"foldout/plan/trade"
)

// line is what is believed of the tracks of one variant of a session; files are called as they are there.
type line struct {
	Session string                 `json:"session"`
	Variant string                 `json:"variant"`
	Roles   []string               `json:"roles"`
	Own     map[string]fold.Belief `json:"own"`
}

func main() {
	out := json.NewEncoder(os.Stdout)
	for _, dir := range os.Args[1:] {
		for _, variant := range []string{"named", "anon"} {
			own, err := believed(filepath.Join(dir, variant))
			if err == nil {
				err = out.Encode(line{filepath.Base(dir), variant, trade.Roles, own})
			}
			if err != nil {
				log.Fatalf("%s, %s: %v", dir, variant, err)
			}
		}
	}
}

func believed(folder string) (map[string]fold.Belief, error) {
	paths, _, err := features.Find(folder)
	if err != nil {
		return nil, err
	}
	results, err := features.MeasureAll(context.Background(), paths, features.Options{WithSketch: true, Folder: folder})
	if err != nil {
		return nil, err
	}
	var tracks []*features.Analysis
	for _, r := range results {
		if r.Err != nil {
			return nil, fmt.Errorf("%s: %w", r.Path, r.Err)
		}
		tracks = append(tracks, r.Analysis)
	}
	s, err := fold.Prepare(folder, tracks, fold.Options{Pairs: 8, Kin: fold.Kin{}})
	if err != nil {
		return nil, err
	}
	own := map[string]fold.Belief{}
	for i, t := range tracks {
		own[t.Profile.File] = s.Own[i]
	}
	return own, nil
}
