// Command dump compares the tracks of labelled sessions and writes what was measured of each pair as CSV, for training
// the kinship model.
//
//	go run ./testdata/kinship/dump -keep FOLDER SESSION... > pairs.csv
//
// A session is a folder with labels.json and the tracks in named/. Sketches are kept in FOLDER, so that a second run
// reads no audio; delete them when the sketch changes.
package main

import (
	"bufio"
	"encoding/gob"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"log"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"foldout/features/kinship"
	"foldout/features/spectrum"
	"foldout/features/wavfile"
)

func main() {
	keep := flag.String("keep", "", "folder for sketches")
	relations := flag.Bool("relations", false, "write the relations found instead of the measures")
	subsets := flag.Int("subsets", 0, "also compare this many small parts of each session, of two to six tracks; they are named SESSION#n")
	flag.Parse()
	out := bufio.NewWriter(os.Stdout)
	defer out.Flush()
	if *relations {
		fmt.Fprintln(out, "session,a,b,kind,binding,certainty,share")
	} else {
		fmt.Fprint(out, "session,a,b")
		for _, way := range []string{"there", "back"} {
			for _, m := range kinship.Measures {
				fmt.Fprintf(out, ",%s.%s", way, m)
			}
		}
		fmt.Fprintln(out)
	}
	for _, dir := range flag.Args() {
		if err := session(out, dir, *keep, *relations, *subsets); err != nil {
			log.Fatalf("%s: %v", dir, err)
		}
	}
}

type track struct {
	File   string
	Source []string
}

func session(out io.Writer, dir, keep string, relations bool, subsets int) error {
	b, err := os.ReadFile(filepath.Join(dir, "labels.json"))
	if err != nil {
		return err
	}
	var labels struct{ Tracks []track }
	if err := json.Unmarshal(b, &labels); err != nil {
		return err
	}
	name := filepath.Base(dir)
	sketches, err := sketches(dir, filepath.Join(keep, name+".gob"), labels.Tracks)
	if err != nil {
		return err
	}
	c := kinship.Compare(sketches)
	file := func(i int) string { return strings.ReplaceAll(labels.Tracks[i].File, ",", ";") }
	if relations {
		for _, r := range c.Relations() {
			fmt.Fprintf(out, "%s,%s,%s,%s,%t,%.3f,%.3f\n", name, file(r.A), file(r.B), r.Kind, r.Binding(), r.Confidence, r.Share)
		}
		return nil
	}
	write(out, name, c, func(i int) string { return file(i) })
	r := rand.New(rand.NewPCG(uint64(len(name)), uint64(len(sketches))))
	for n := range subsets {
		part := pick(r, labels.Tracks)
		some := make([]kinship.Sketch, len(part))
		for k, i := range part {
			some[k] = sketches[i]
		}
		write(out, fmt.Sprintf("%s#%d", name, n), kinship.Compare(some), func(k int) string { return file(part[k]) })
	}
	return nil
}

// pick chooses a track that is made from others, or any, what it is made from, and up to three more.
func pick(r *rand.Rand, tracks []track) []int {
	first := r.IntN(len(tracks))
	for range 20 {
		if len(tracks[first].Source) > 0 {
			break
		}
		first = r.IntN(len(tracks))
	}
	part := []int{first}
	for i, t := range tracks {
		if slices.Contains(tracks[first].Source, t.File) {
			part = append(part, i)
		}
	}
	for range r.IntN(4) {
		if i := r.IntN(len(tracks)); !slices.Contains(part, i) {
			part = append(part, i)
		}
	}
	r.Shuffle(len(part), func(i, j int) { part[i], part[j] = part[j], part[i] })
	return part
}

// write writes the measures of all pairs looked at.
func write(out io.Writer, name string, c *kinship.Comparison, file func(int) string) {
	for _, e := range c.Evidence() {
		fmt.Fprintf(out, "%s,%s,%s", name, file(e.A), file(e.B))
		for _, v := range append(e.There, e.Back...) {
			fmt.Fprint(out, ",", strconv.FormatFloat(v, 'g', 4, 64))
		}
		fmt.Fprintln(out)
	}
}

func sketches(dir, kept string, tracks []track) ([]kinship.Sketch, error) {
	var out []kinship.Sketch
	if f, err := os.Open(kept); err == nil {
		defer f.Close()
		return out, gob.NewDecoder(bufio.NewReader(f)).Decode(&out)
	}
	out = make([]kinship.Sketch, len(tracks))
	errs := make([]error, len(tracks))
	var wg sync.WaitGroup
	for w := range 2 {
		wg.Go(func() {
			for i := w; i < len(tracks); i += 2 {
				out[i], errs[i] = sketch(filepath.Join(dir, "named", tracks[i].File))
			}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	f, err := os.Create(kept)
	if err != nil {
		return nil, err
	}
	w := bufio.NewWriter(f)
	if err := gob.NewEncoder(w).Encode(out); err != nil {
		return nil, err
	}
	if err := w.Flush(); err != nil {
		return nil, err
	}
	return out, f.Close()
}

func sketch(path string) (kinship.Sketch, error) {
	r, err := wavfile.Open(path)
	if err != nil {
		return kinship.Sketch{}, err
	}
	defer r.Close()
	info := r.Info()
	s := kinship.NewSketcher(info.SampleRateHz, info.Channels)
	if info.Bext != nil {
		s.SetTimeReference(info.Bext.TimeReference)
	}
	stream := spectrum.NewStream(info.SampleRateHz, info.Channels, s)
	planes := make([][]float32, info.Channels)
	for c := range planes {
		planes[c] = make([]float32, 8192)
	}
	for {
		n, err := r.Read(planes)
		if n > 0 {
			block := make([][]float32, len(planes))
			for c := range planes {
				block[c] = planes[c][:n]
			}
			s.Write(block)
			stream.Write(block)
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			return kinship.Sketch{}, fmt.Errorf("%s: %w", path, err)
		}
	}
	stream.Close()
	return s.Sketch(), nil
}
