// Command dump measures the tracks of labelled sessions and writes their timbre vectors as CSV, plain and varied, for
// training the role model.
//
//	go run ./testdata/rolemodel/dump -vary 6 SESSION... > vectors.csv
//
// A session is a folder with labels.json and the tracks in named/.
package main

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"hash/fnv"
	"log"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"

	"foldout/features/timbre"
	"foldout/testdata/rolemodel/changes"
)

type track struct {
	File, Role, Family, Kind string
	Atom                     *string
	Silent                   bool
}

type job struct {
	session string
	dir     string
	track   track
}

func main() {
	varied := flag.Int("vary", 0, "varied copies of each track")
	halves := flag.Bool("halves", false, "also the first and the second half of each track, as variations -1 and -2")
	flag.Parse()
	var jobs []job
	for _, dir := range flag.Args() {
		b, err := os.ReadFile(filepath.Join(dir, "labels.json"))
		if err != nil {
			log.Fatal(err)
		}
		var labels struct {
			Session string
			Tracks  []track
		}
		if err := json.Unmarshal(b, &labels); err != nil {
			log.Fatalf("%s: %v", dir, err)
		}
		for _, t := range labels.Tracks {
			if !t.Silent && t.Role != "silent" {
				jobs = append(jobs, job{filepath.Base(dir), dir, t})
			}
		}
	}
	out := bufio.NewWriter(os.Stdout)
	defer out.Flush()
	fmt.Fprintln(out, "session,file,role,family,atom,kind,variation,"+strings.Join(timbre.Names, ","))
	rows := make([]string, len(jobs))
	work := make(chan int)
	var wg sync.WaitGroup
	for range runtime.NumCPU() {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range work {
				rows[i] = jobs[i].rows(*varied, *halves)
			}
		}()
	}
	for i := range jobs {
		work <- i
	}
	close(work)
	wg.Wait()
	for _, r := range rows {
		fmt.Fprint(out, r)
	}
}

func (j job) rows(varied int, halves bool) string {
	planes, rate, err := changes.ReadWAV(filepath.Join(j.dir, "named", j.track.File))
	if err != nil {
		log.Fatal(err)
	}
	atom := ""
	if j.track.Atom != nil {
		atom = *j.track.Atom
	}
	var s strings.Builder
	first := 0
	if halves {
		first = -2
	}
	for v := first; v <= varied; v++ {
		x := planes
		if v < 0 {
			x = half(planes, v == -2)
		} else if v > 0 {
			h := fnv.New64a()
			fmt.Fprint(h, j.session, j.track.File)
			x = vary(planes, rate, rand.New(rand.NewPCG(h.Sum64(), uint64(v))))
		}
		fmt.Fprintf(&s, "%s,%q,%s,%s,%s,%s,%d", j.session, j.track.File, j.track.Role, j.track.Family, atom, j.track.Kind, v)
		for _, f := range changes.Vector(x, rate) {
			s.WriteByte(',')
			s.WriteString(strconv.FormatFloat(float64(f), 'g', 6, 32))
		}
		s.WriteByte('\n')
	}
	return s.String()
}
