package features

import (
	"context"
	"encoding/binary"
	"math"
	"runtime"
	"slices"
	"sync"

	"golang.org/x/sync/errgroup"

	"foldout/features/kinship"
)

const wavesSuffix = ".waves"

// waves are the waveforms of a track's sketch while they are still in the cache: nine tenths of all that is kept of a track,
// and wanted only when tracks are compared anew.
type waves struct {
	entry cacheEntry
	once  sync.Once
	other bool // they were not to be had as they were: what is made of them is not to be kept
}

// Whole returns the sketch with its waveforms, which are fetched from the cache at the first call. Should they be gone or
// damaged, the file is measured again; should that fail, they are missing and the track resembles none. It may be called
// from several goroutines.
func (a *Analysis) Whole() kinship.Sketch {
	if w := a.waves; w != nil {
		w.once.Do(func() {
			if body, ok := w.entry.body(wavesSuffix); ok && joinWaves(&a.Sketch, body) {
				return
			}
			again, err := new(pass).measure(context.Background(), a.Path, true, w.entry.start, func(float64) {})
			if err == nil {
				a.Sketch = again.Sketch
				w.other = !w.entry.save(again, true) // which looks whether the file is still the same
			} else {
				w.other = true
			}
		})
	}
	return a.Sketch
}

// sketches are the whole sketches of tracks; kept tells whether what is made of them may be.
func sketches(tracks []*Analysis) (list []kinship.Sketch, kept bool) {
	list, kept = make([]kinship.Sketch, len(tracks)), true
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, t := range tracks {
		group.Go(func() error {
			list[i] = t.Whole()
			return nil
		})
	}
	group.Wait() //nolint:errcheck // none of them can fail
	for _, t := range tracks {
		kept = kept && (t.waves == nil || !t.waves.other)
	}
	return list, kept
}

// splitWaves returns a sketch without its waveforms, and these as bytes: of each piece the number of scales, the scales and
// the codes.
func splitWaves(s kinship.Sketch) (kinship.Sketch, []byte) {
	var body []byte
	s.Chunks = slices.Clone(s.Chunks)
	for i := range s.Chunks {
		c := &s.Chunks[i]
		body = binary.LittleEndian.AppendUint32(body, uint32(len(c.Scale)))
		body = binary.LittleEndian.AppendUint32(body, uint32(len(c.Code)))
		for _, v := range c.Scale {
			body = binary.LittleEndian.AppendUint32(body, math.Float32bits(v))
		}
		for _, v := range c.Code {
			body = append(body, byte(v))
		}
		c.Scale, c.Code = nil, nil
	}
	return s, body
}

// joinWaves is the inverse of splitWaves.
func joinWaves(s *kinship.Sketch, body []byte) bool {
	type wave struct {
		scale []float32
		code  []int8
	}
	list := make([]wave, len(s.Chunks))
	for i := range list {
		if len(body) < 8 {
			return false
		}
		scales, codes := int(binary.LittleEndian.Uint32(body)), int(binary.LittleEndian.Uint32(body[4:]))
		if body = body[8:]; len(body) < 4*scales+codes {
			return false
		}
		list[i] = wave{make([]float32, scales), make([]int8, codes)}
		for k := range list[i].scale {
			list[i].scale[k] = math.Float32frombits(binary.LittleEndian.Uint32(body[4*k:]))
		}
		body = body[4*scales:]
		for k, v := range body[:codes] {
			list[i].code[k] = int8(v)
		}
		body = body[codes:]
	}
	for i, w := range list {
		s.Chunks[i].Scale, s.Chunks[i].Code = w.scale, w.code
	}
	return len(body) == 0
}
