package stems

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
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

// Where the sheet says when a file begins, that holds: counted from the earliest of the others, by their time references if
// they have any.
func TestTracksBeginWhereTheSheetSays(t *testing.T) {
	const hour = 172800000
	second := noise(1, 1, rate, 0.1)
	for _, c := range []struct {
		name      string
		tracks    []track
		given     map[string]int64
		sameStart bool
		offsets   []int64
		start     int64
	}{
		{name: "one late among plain ones", tracks: []track{{}, {}}, given: map[string]int64{"b.wav": 777}, offsets: []int64{0, 777}},
		{name: "beside time references", tracks: []track{{ref: hour}, {ref: hour + 5}, {}}, given: map[string]int64{"c.wav": 777}, offsets: []int64{0, 5, 777}, start: hour},
		{name: "against its own time reference", tracks: []track{{ref: hour}, {ref: 2 * hour}}, given: map[string]int64{"b.wav": 777}, offsets: []int64{0, 777}, start: hour},
		{name: "all given: the earliest begins", tracks: []track{{}, {}}, given: map[string]int64{"a.wav": hour, "b.wav": hour + 9}, offsets: []int64{0, 9}, start: hour},
		{name: "time references ignored, starts not", tracks: []track{{ref: hour}, {}}, sameStart: true, given: map[string]int64{"b.wav": 9}, offsets: []int64{0, 9}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			var files []string
			for i := range c.tracks {
				c.tracks[i].file, c.tracks[i].planes = string(rune('a'+i))+".wav", second
				files = append(files, c.tracks[i].file)
			}
			put(t, dir, c.tracks...)
			doc := sheetOf(dir, files)
			for file, at := range c.given {
				doc.Settings.Offsets = append(doc.Settings.Offsets, sheet.Offset{File: file, Start: at})
			}
			s := open(t, doc, Options{SameStart: c.sameStart})
			var offsets []int64
			for _, tr := range s.Mixes[0].Tracks {
				offsets = append(offsets, tr.Offset)
			}
			assert.Equal(t, c.offsets, offsets)
			assert.Equal(t, c.start, s.Start)
		})
	}
}

// A file that was cut off at its beginning gives the same stems, sample for sample, when the sheet says how much is missing.
func TestACutFileGivesTheSameStems(t *testing.T) {
	const missing = 12345
	long, other := noise(3, 2, 2*rate, 0.3), noise(4, 1, 2*rate, 0.3)
	for c := range long {
		clear(long[c][:missing])
	}
	whole, cut := t.TempDir(), t.TempDir()
	put(t, whole, track{file: "a.wav", planes: other}, track{file: "b.wav", planes: long})
	put(t, cut, track{file: "a.wav", planes: other}, track{file: "b.wav", planes: [][]float64{long[0][missing:], long[1][missing:]}})
	want := summed(t, &open(t, sheetOf(whole, []string{"a.wav", "b.wav"}), Options{}).Mixes[0])
	doc := sheetOf(cut, []string{"a.wav", "b.wav"})
	assert.NotEqual(t, want, summed(t, &open(t, doc, Options{}).Mixes[0]), "without the start it is another sum")
	doc.Settings.Offsets = []sheet.Offset{{File: "b.wav", Start: missing}}
	assert.Equal(t, want, summed(t, &open(t, doc, Options{}).Mixes[0]))
}

func TestStartsThatMakeNoSense(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: noise(1, 1, rate, 0.1)}, track{file: "b.wav", planes: noise(1, 1, rate, 0.1)})
	for at, want := range map[int64]string{-1: "no start", 1 << 62: "no start", 2 * 3600 * rate: "counted from the earliest"} {
		doc := sheetOf(dir, []string{"a.wav", "b.wav"})
		doc.Settings.Offsets = []sheet.Offset{{File: "b.wav", Start: at}}
		_, err := Open(doc, Options{})
		assert.ErrorContains(t, err, want)
		assert.ErrorContains(t, err, "b.wav")
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
