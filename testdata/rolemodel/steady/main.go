// Command steady asks of labelled tracks whether the ears hear the same family when only the file changes: silence around and
// between, gain, polarity, rate, and either half of the take. It writes tables in Markdown.
//
//	go run ./testdata/rolemodel/steady                                     from the kept vectors
//	go run ./testdata/rolemodel/steady -measure FOLDER -every 4 SESSION... from sound
//	go run ./testdata/rolemodel/steady -measure FOLDER -keep               keeps all that was measured into FOLDER
//
// A session is a folder with labels.json and the tracks in named/. What was measured of it stays in FOLDER, a file a session, and is
// not measured again; delete it when the meters change.
package main

import (
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"

	"foldout/testdata/rolemodel/changes"
	"foldout/testdata/rolemodel/lab"
)

const (
	vectors = "testdata/rolemodel/vectors"
	kept    = vectors + "/" + changes.File
)

const head = "Written by `go run ./testdata/rolemodel/steady`: labelled tracks, whole (the loudest minute of longer ones), as the table that ships hears them\n" +
	"when only the file changes. It was trained on most of them, not on the songs and the three sessions never trained on. Lead and backing voices count as one family.\n\n"

func main() {
	folder := flag.String("measure", "", "folder for what is measured")
	every := flag.Int("every", 1, "take every n-th track of a session")
	longest := flag.Float64("longest", 60, "of longer tracks take the loudest stretch of so many seconds")
	keep := flag.Bool("keep", false, "keep all that lies in the folder")
	flag.Parse()
	if err := run(*folder, flag.Args(), *every, *longest, *keep); err != nil {
		log.Fatal(err)
	}
}

func run(folder string, sessions []string, every int, longest float64, keep bool) error {
	tracks, spread, err := []changes.Track(nil), []float64(nil), error(nil)
	if folder == "" {
		tracks, spread, err = changes.Read(kept)
	} else {
		tracks, spread, err = measured(folder, sessions, max(1, every), longest, keep)
	}
	if err == nil {
		_, err = fmt.Fprint(os.Stdout, head, changes.Sum(tracks, spread).Markdown())
	}
	return err
}

// measured measures sessions, or keeps all that was measured into the folder.
func measured(folder string, sessions []string, every int, longest float64, keep bool) ([]changes.Track, []float64, error) {
	set, err := lab.Read(vectors)
	if err != nil {
		return nil, nil, err
	}
	if keep {
		if sessions, err = filepath.Glob(filepath.Join(folder, "*.gob")); err != nil {
			return nil, nil, err
		}
	}
	known := map[string]bool{}
	for _, r := range set.Rows {
		known[r.Body] = true
	}
	var tracks []changes.Track
	for _, dir := range sessions {
		s, err := load(dir, folder, every, longest)
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %w", dir, err)
		}
		for _, t := range s.Tracks {
			if song := "song-" + t.Body; !known[t.Body] && known[song] { // as the lab calls whole real songs
				t.Body = song
			}
			tracks = append(tracks, t)
		}
	}
	if keep {
		err = changes.Write(kept, tracks, set)
	}
	return tracks, set.Spread, err
}
