package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"

	"golang.org/x/sync/errgroup"

	"foldout/features/wavfile"
)

const (
	rate            = 48000
	materialSession = "session"
	materialNoise   = "noise"
)

// session says what the session is like.
type session struct {
	tracks   int
	seconds  float64
	material string
}

func (s session) check() error {
	switch {
	case s.tracks < 1:
		return fmt.Errorf("--tracks %d: want 1 or more", s.tracks)
	case !(s.seconds >= 1 && s.seconds <= 36000):
		return fmt.Errorf("--seconds %g: want 1 to 36000", s.seconds)
	case s.material != materialSession && s.material != materialNoise:
		return fmt.Errorf("--material %s: want %s or %s", s.material, materialSession, materialNoise)
	}
	return nil
}

// instruments are the families of a session, in turn.
var instruments = []struct {
	name string
	play func(seed int) sound
}{
	{"kick", newKick}, {"bass", newBass}, {"guitar", newGuitar}, {"voice", newVoice},
}

// file names track i, which is mono when i is even.
func (s session) file(i int) string {
	name, side := s.material, "mono"
	if s.material == materialSession {
		name = instruments[i/2%len(instruments)].name
	}
	if i%2 == 1 {
		side = "stereo"
	}
	return fmt.Sprintf("%02d_%s_%s.wav", i+1, name, side)
}

// make makes the tracks that are missing in dir, one process on every core, and returns the paths of all. A folder that
// holds other tracks is refused: they would be measured, too.
func (s session) make(dir string) ([]string, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	self, err := os.Executable()
	if err != nil {
		return nil, err
	}
	var paths []string
	var group errgroup.Group
	group.SetLimit(runtime.NumCPU())
	for i := range s.tracks {
		path := filepath.Join(dir, s.file(i))
		paths = append(paths, path)
		want := int64(s.seconds*rate) * int64(1+i%2) * 3
		if st, err := os.Stat(path); err == nil && st.Size() > want && st.Size() < want+4096 {
			continue
		}
		group.Go(func() error {
			out, err := exec.Command(self, jobMake, path, s.material, strconv.Itoa(i), strconv.FormatFloat(s.seconds, 'g', -1, 64)).CombinedOutput()
			if err != nil {
				return fmt.Errorf("making %s: %w\n%s", path, err, out)
			}
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	all, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil {
		return nil, err
	}
	if len(all) != len(paths) {
		return nil, fmt.Errorf("%s holds other tracks besides the %d of this session; name an empty folder", dir, len(paths))
	}
	return paths, nil
}

// makeTrack is the process that makes one track: path, material, number, seconds.
func makeTrack(arguments []string) error {
	if len(arguments) != 4 {
		return errors.New("want a path, a material, a number and seconds")
	}
	i, err := strconv.Atoi(arguments[2])
	if err != nil {
		return err
	}
	seconds, err := strconv.ParseFloat(arguments[3], 64)
	if err != nil {
		return err
	}
	s := session{tracks: i + 1, seconds: seconds, material: arguments[1]}
	if err := s.check(); err != nil {
		return err
	}
	return s.track(arguments[0], i)
}

// track writes track i.
func (s session) track(path string, i int) (err error) {
	channels := 1 + i%2
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: rate, Channels: channels, Encoding: wavfile.PCM24, Dither: true, Seed: uint64(i)}, true)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, w.Abort())
		}
	}()
	samples := s.samples(i)
	block := make([][]float32, channels)
	for c := range block {
		block[c] = make([]float32, 4096)
	}
	for left := int(s.seconds * rate); left > 0; {
		n := min(left, 4096)
		for c := range block {
			block[c] = block[c][:n]
		}
		for k := range n {
			l, r := samples()
			block[0][k] = l
			if channels > 1 {
				block[1][k] = r
			}
		}
		if err := w.Write(block); err != nil {
			return err
		}
		left -= n
	}
	return w.Close()
}

// samples returns a source of the left and right samples of track i. The right side of a song's track is the left one
// 0.3 ms later, a little lower or higher, with noise of its own; of noise it is other noise.
func (s session) samples(i int) func() (l, r float32) {
	hiss := newNoise(1000 + i)
	if s.material == materialNoise {
		limited := func() float32 { return float32(max(-0.97, min(0.97, 3*hiss.next()))) }
		return func() (float32, float32) { return limited(), limited() }
	}
	play := instruments[i/2%len(instruments)].play(i)
	part := newParts(i)
	level := math.Pow(10, -float64(1+i*5%14)/20) // peaks from -14 to -1 dBFS
	balance := 1 - 0.05*float64(i%5)
	var late [14]float64
	at := 0
	return func() (float32, float32) {
		x := level * part.gain() * play()
		delayed := late[at]
		late[at] = x
		at = (at + 1) % len(late)
		return float32(x + 2e-5*hiss.next()), float32(balance*delayed + 2e-5*hiss.next() + 0.05*x*hiss.next())
	}
}
