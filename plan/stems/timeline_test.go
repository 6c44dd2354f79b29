package stems

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Time references count samples since midnight (EBU Tech 3285); one hour at 48 kHz is 172 800 000 of them.
func TestTracksAreLinedUpByTimeReference(t *testing.T) {
	const hour = 172800000
	second := noise(1, 1, rate, 0.1)
	for _, c := range []struct {
		name      string
		tracks    []track
		sameStart bool
		offsets   []int64
		start     int64
		frames    int64
		note      string
	}{
		{name: "no references", tracks: []track{{}, {}}, offsets: []int64{0, 0}, frames: rate},
		{name: "one hour and a late start", tracks: []track{{ref: hour}, {ref: hour + 1234}}, offsets: []int64{0, 1234}, start: hour, frames: rate + 1234, note: "1 track begins later"},
		{name: "the earliest need not be the first", tracks: []track{{ref: hour + 77}, {ref: hour}}, offsets: []int64{77, 0}, start: hour, frames: rate + 77, note: "begins later"},
		{name: "one without a chunk begins with the session", tracks: []track{{ref: hour}, {}, {ref: hour + 5}}, offsets: []int64{0, 0, 5}, start: hour, frames: rate + 5, note: "without a time reference"},
		{name: "zero meant as midnight", tracks: []track{{bext: true}, {ref: 1000}}, offsets: []int64{0, 1000}, frames: rate + 1000, note: "begins later"},
		{name: "zero meant as not stated", tracks: []track{{bext: true}, {ref: hour}}, offsets: []int64{0, 0}, start: hour, frames: rate, note: "taken as not stated"},
		{name: "references ignored on demand", tracks: []track{{ref: hour}, {ref: 9 * hour}}, sameStart: true, offsets: []int64{0, 0}, frames: rate},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			var files []string
			for i := range c.tracks {
				c.tracks[i].file, c.tracks[i].planes = string(rune('a'+i))+".wav", second
				files = append(files, c.tracks[i].file)
			}
			put(t, dir, c.tracks...)
			s := open(t, sheetOf(dir, files), Options{SameStart: c.sameStart})
			var offsets []int64
			for _, tr := range s.Mixes[0].Tracks {
				offsets = append(offsets, tr.Offset)
			}
			assert.Equal(t, c.offsets, offsets)
			assert.Equal(t, c.start, s.Start)
			assert.Equal(t, c.frames, s.Frames)
			if c.note == "" {
				assert.Empty(t, s.Notes)
			} else {
				require.NotEmpty(t, s.Notes)
				assert.Contains(t, s.Notes[0], c.note)
			}
		})
	}
}

func TestTimeReferenceGoneWrongIsRefused(t *testing.T) {
	dir := t.TempDir()
	const hour = 172800000
	put(t, dir, track{file: "a.wav", planes: noise(1, 1, rate, 0.1), ref: hour}, track{file: "b.wav", planes: noise(1, 1, rate, 0.1), ref: 9 * hour})
	_, err := Open(sheetOf(dir, []string{"a.wav", "b.wav"}), Options{})
	for _, want := range []string{"b.wav", "9:00:00.000", "7:59:59.000", "--same-start"} {
		assert.ErrorContains(t, err, want)
	}
	put(t, dir, track{file: "b.wav", planes: noise(1, 1, rate, 0.1), ref: 1<<63 - 1})
	_, err = Open(sheetOf(dir, []string{"a.wav", "b.wav"}), Options{})
	assert.ErrorContains(t, err, "--same-start")
}

func TestClockReadsHoursToMilliseconds(t *testing.T) {
	for frames, want := range map[int64]string{0: "0:00:00.000", 48: "0:00:00.001", 47: "0:00:00.000", 48000*3661 + 24000: "1:01:01.500"} {
		assert.Equal(t, want, clock(frames, rate))
	}
}
