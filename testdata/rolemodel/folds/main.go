// Command folds scores folds and ears on labelled sessions, in Markdown: agreement with the folds that engineers use (adjusted
// Rand index, best over the accepted ones) onto 4 and 8 pairs, with all names, half of them and none; and what the ears say of
// the tracks by themselves.
//
//	go run ./testdata/rolemodel/folds -keep FOLDER SESSION...
//
// A session is a folder with labels.json and the tracks in named/. What was measured is kept in FOLDER, so that a second run
// reads no audio; delete it when the meters change.
package main

import (
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
)

func main() {
	keep := flag.String("keep", "", "folder for what was measured")
	flag.Parse()
	if *keep == "" || flag.NArg() == 0 {
		log.Fatal("want -keep FOLDER and sessions")
	}
	var all scores
	for _, dir := range flag.Args() {
		s, err := load(dir, filepath.Join(*keep, filepath.Base(dir)+".gob"))
		if err == nil {
			err = all.add(s)
		}
		if err != nil {
			log.Fatalf("%s: %v", dir, err)
		}
	}
	if _, err := fmt.Fprint(os.Stdout, all.markdown()); err != nil {
		log.Fatal(err)
	}
}
