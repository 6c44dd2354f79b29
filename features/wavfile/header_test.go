package wavfile

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	mono16  = fmtChunk(tagPCM, 1, 48000, 16)
	three   = ints16(1, -2, 3)
	listInf = goodChunk("LIST", []byte("INFOISFT\x04\x00\x00\x00test"))
)

// TestOddHeaders opens hand-built files that differ from the plain case in one way each. Expected values follow from how
// the file was built; the sizes left by pipes are those that FFmpeg 5.1.9 (0xFFFFFFFF) and SoX 14.4.2 (0x7FFFEFFF for
// 24-bit mono, 0x7FFFF000 for 16-bit) write; ds64 after EBU Tech 3306 and ITU-R BS.2088-1.
func TestOddHeaders(t *testing.T) {
	junk := goodChunk("JUNK", make([]byte, 28))
	oddList := goodChunk("LIST", []byte("INFO!"))
	noPad := rawChunk("LIST", 5, []byte("INFO!"))
	mono24 := fmtChunk(tagPCM, 1, 48000, 24)
	join := func(parts ...[]byte) []byte { return bytes.Join(parts, nil) }
	for _, c := range []struct {
		name string
		file []byte
		want []float64 // times full scale
		note string    // part of the only note; empty for none
	}{
		{"plain", riffFile("RIFF", mono16, dataChunk(three)), []float64{1, -2, 3}, ""},
		{"no samples", riffFile("RIFF", mono16, dataChunk(nil)), []float64{}, ""},
		{"no samples, chunks behind", riffFile("RIFF", mono16, dataChunk(nil), listInf), []float64{}, ""},
		{"unknown chunks before and behind", riffFile("RIFF", junk, oddList, mono16, listInf, dataChunk(three), oddList, listInf),
			[]float64{1, -2, 3}, ""},
		{"format behind data", riffFile("RIFF", dataChunk(three), mono16), []float64{1, -2, 3}, ""},
		{"odd data and its pad", riffFile("RIFF", mono24, dataChunk([]byte{1, 0, 0}), listInf), []float64{1}, ""},
		{"missing pad", riffFile("RIFF", noPad, mono16, dataChunk(three)), []float64{1, -2, 3}, "lacks its pad byte"},
		{"missing last pad", riffFile("RIFF", mono24, rawChunk("data", 3, []byte{1, 0, 0})), []float64{1}, ""},
		{"format of 18 bytes", riffFile("RIFF", goodChunk("fmt ", append(plainFmt(tagPCM, 1, 48000, 16, 2), 0, 0)), dataChunk(three)),
			[]float64{1, -2, 3}, ""},
		{"extensible", riffFile("RIFF", extensibleFmt(tagPCM, 1, 48000, 16, 16), dataChunk(three)), []float64{1, -2, 3}, ""},
		{"valid bits left at 0", riffFile("RIFF", extensibleFmt(tagPCM, 1, 48000, 16, 0), dataChunk(three)), []float64{1, -2, 3}, ""},
		{"valid bits above the container", riffFile("RIFF", extensibleFmt(tagPCM, 1, 48000, 16, 24), dataChunk(three)),
			[]float64{1, -2, 3}, "24 valid bits"},
		{"wrong RIFF size", join([]byte("RIFF\x00\x00\x00\x00WAVE"), mono16, dataChunk(three)), []float64{1, -2, 3}, ""},

		{"data size 0", riffFile("RIFF", mono16, rawChunk("data", 0, three)), []float64{1, -2, 3}, "no audio length"},
		{"data size 0xFFFFFFFF", riffFile("RIFF", mono16, rawChunk("data", unknownSize, three)), []float64{1, -2, 3}, "length of the audio open"},
		{"data size 0x7FFFF000", riffFile("RIFF", mono16, rawChunk("data", 0x7FFFF000, three)), []float64{1, -2, 3}, "length of the audio open"},
		{"data size 0x7FFFEFFF", riffFile("RIFF", mono24, rawChunk("data", 0x7FFFEFFF, []byte{1, 0, 0})), []float64{1}, "length of the audio open"},
		{"open length, 8-bit mono, pad byte", riffFile("RIFF", fmtChunk(tagPCM, 1, 48000, 8), rawChunk("data", unknownSize, []byte{129, 126, 131, 0})),
			[]float64{1, -2, 3}, "length of the audio open"},
		{"open length, 8-bit mono, no pad byte", riffFile("RIFF", fmtChunk(tagPCM, 1, 48000, 8), rawChunk("data", 0, []byte{129, 126, 131})),
			[]float64{1, -2, 3}, "no audio length"},
		{"cut short", riffFile("RIFF", mono16, rawChunk("data", 1000, three)), []float64{1, -2, 3}, "promises 1000 bytes of audio, the file holds 6"},
		{"cut short at once", riffFile("RIFF", mono16, rawChunk("data", 1000, nil)), []float64{}, "the file holds 0"},
		{"part of a frame", riffFile("RIFF", mono16, dataChunk(append(ints16(1, -2, 3), 9))), []float64{1, -2, 3}, "last 1 bytes are part of a frame"},
		{"rubbish behind", riffFile("RIFF", mono16, dataChunk(three), make([]byte, 100)), []float64{1, -2, 3}, "100 bytes after the audio"},
		{"chunk behind cut short", riffFile("RIFF", mono16, dataChunk(three), rawChunk("LIST", 100, []byte("INFO"))), []float64{1, -2, 3}, "\"LIST\" is cut short"},
		{"second data chunk", riffFile("RIFF", mono16, dataChunk(three), dataChunk(three)), []float64{1, -2, 3}, "second data chunk"},

		{"RF64", riffFile("RF64", ds64(0, 6, 3), mono16, rawChunk("data", unknownSize, three), listInf), []float64{1, -2, 3}, ""},
		{"BW64, sample count a dummy", riffFile("BW64", ds64(0, 6, 0), mono16, rawChunk("data", unknownSize, three), listInf), []float64{1, -2, 3}, ""},
		{"RF64, size in the chunk stands", riffFile("RF64", ds64(0, 4, 2), mono16, dataChunk(three), listInf), []float64{1, -2, 3}, ""},
		{"RF64, size never filled in", riffFile("RF64", ds64(0, 0, 0), mono16, rawChunk("data", unknownSize, three)), []float64{1, -2, 3}, "no audio length"},
		{"RF64, size beyond all sense", riffFile("RF64", ds64(0, math.MaxUint64, 0), mono16, rawChunk("data", unknownSize, three)), []float64{1, -2, 3}, "promises"},
		{"RF64 without ds64", riffFile("RF64", mono16, rawChunk("data", unknownSize, three)), []float64{1, -2, 3}, "length of the audio open"},
		{"RF64, other long chunk by table", riffFile("RF64",
			ds64(0, 6, 3, append([]byte("axml"), 4, 0, 0, 0, 0, 0, 0, 0)...),
			rawChunk("axml", unknownSize, []byte("<a/>")), mono16, rawChunk("data", unknownSize, three)), []float64{1, -2, 3}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := openBytes(t, c.file)
			got := readAll(t, r, 2)
			scale := math.Exp2(float64(r.Info().BitDepth - 1))
			for i := range got {
				got[i] *= scale
			}
			assert.Equal(t, c.want, got)
			if c.note == "" {
				assert.Empty(t, r.Info().Notes)
			} else {
				require.Len(t, r.Info().Notes, 1)
				assert.Contains(t, r.Info().Notes[0], c.note)
			}
		})
	}
}

func TestInfoTellsTheFormat(t *testing.T) {
	info := openBytes(t, riffFile("BW64", ds64(0, 0, 0), extensibleFmt(tagPCM, 3, 96000, 32, 24), dataChunk(make([]byte, 24)))).Info()
	assert.Equal(t, Info{Path: "test.wav", Container: "BW64", SampleRateHz: 96000, Channels: 3, BitDepth: 24, ContainerBits: 32,
		Frames: 2}, info)
	info = openBytes(t, riffFile("RIFF", extensibleFmt(tagFloat, 1, 8000, 64, 64), dataChunk(nil))).Info()
	assert.Equal(t, Info{Path: "test.wav", Container: "RIFF", SampleRateHz: 8000, Channels: 1, BitDepth: 64, ContainerBits: 64,
		Float: true}, info)
}

// TestBextIsRead places the fields by hand at the offsets of EBU Tech 3285. One hour at 48 kHz is 172 800 000 samples.
func TestBextIsRead(t *testing.T) {
	p := make([]byte, 602)
	copy(p, "Snare bottom, take 3")
	copy(p[256:], strings.Repeat("o", 32)) // fills its field: no zero byte
	copy(p[288:], "ref")
	copy(p[320:], "2024-02-29")
	copy(p[330:], "01:02:03")
	copy(p[338:], []byte{0x00, 0xB8, 0x4C, 0x0A, 1, 0, 0, 0}) // low word first
	p = append(p, "A=PCM,F=48000\r\n\x00"...)
	want := &Bext{"Snare bottom, take 3", strings.Repeat("o", 32), "ref", "2024-02-29", "01:02:03", 172800000 + 1<<32, "A=PCM,F=48000\r\n"}
	for name, file := range map[string][]byte{
		"before": riffFile("RIFF", goodChunk("bext", p), mono16, dataChunk(three)),
		"behind": riffFile("RIFF", mono16, dataChunk(three), goodChunk("bext", p)),
	} {
		assert.Equal(t, want, openBytes(t, file).Info().Bext, name)
	}

	latin := make([]byte, 602)
	copy(latin, "Fl\xFCgel") // ISO 8859-1: FC is u with two dots
	copy(latin[338:], bytes.Repeat([]byte{0xFF}, 8))
	b := openBytes(t, riffFile("RIFF", goodChunk("bext", latin), mono16, dataChunk(three))).Info().Bext
	assert.Equal(t, &Bext{Description: "Flügel"}, b, "Latin-1 text; a time beyond int64 is no time")

	r := openBytes(t, riffFile("RIFF", goodChunk("bext", p[:346]), mono16, dataChunk(three)))
	assert.Equal(t, int64(172800000+1<<32), r.Info().Bext.TimeReference, "old short chunk")
	r = openBytes(t, riffFile("RIFF", goodChunk("bext", p[:200]), mono16, dataChunk(three)))
	assert.Nil(t, r.Info().Bext)
	assert.Equal(t, []string{"the bext chunk is cut short and was ignored"}, r.Info().Notes)
}

// TestBeyondFourGiB reads the end of a sparse file of 5 GiB, in which bext follows the samples.
func TestBeyondFourGiB(t *testing.T) {
	if testing.Short() {
		t.Skip("makes a sparse file of 5 GiB")
	}
	const frames = int64(5<<30) / 6
	head := riffFile("RF64", ds64(0, uint64(frames*6), uint64(frames)), fmtChunk(tagPCM, 2, 96000, 24), rawChunk("data", unknownSize, nil))
	path := filepath.Join(t.TempDir(), "long.wav")
	f, err := os.Create(path)
	require.NoError(t, err)
	_, err = f.Write(head)
	require.NoError(t, err)
	end := int64(len(head)) + frames*6
	_, err = f.WriteAt(append([]byte{1, 0, 0, 0xFE, 0xFF, 0xFF}, goodChunk("bext", append([]byte("far out"), make([]byte, 595)...))...), end-6)
	require.NoError(t, err)
	require.NoError(t, f.Close())

	r, err := Open(path)
	require.NoError(t, err)
	defer func() { assert.NoError(t, r.Close()) }()
	assert.Equal(t, Info{Path: path, Container: "RF64", SampleRateHz: 96000, Channels: 2, BitDepth: 24, ContainerBits: 24,
		Frames: frames, Bext: &Bext{Description: "far out"}}, r.Info())
	r.at, r.left = r.at+(frames-2)*6, 2 // as if all before had been read
	planes := newPlanes[float64](2, 10)
	n, err := r.ReadFloat64(planes)
	require.NoError(t, err)
	require.Equal(t, 2, n)
	assert.Equal(t, []float64{0, 1. / (1 << 23)}, planes[0][:2])
	assert.Equal(t, []float64{0, -2. / (1 << 23)}, planes[1][:2])
}

// A plain file of more than 4 GiB, whose sizes have lost their upper bits, is read to its end; one with chunks behind the
// audio is taken at its word.
func TestPlainHeaderBeyondFourGiB(t *testing.T) {
	if testing.Short() {
		t.Skip("makes a sparse file of 4 GiB")
	}
	const frames = int64(1<<32)/2 + 200
	head := riffFile("RIFF", mono16, rawChunk("data", 400, nil)) // 2^32 + 400 bytes
	path := filepath.Join(t.TempDir(), "long.wav")
	f, err := os.Create(path)
	require.NoError(t, err)
	_, err = f.Write(head)
	require.NoError(t, err)
	_, err = f.WriteAt([]byte{0, 0x40}, int64(len(head))+frames*2-2)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	r, err := Open(path)
	require.NoError(t, err)
	assert.Equal(t, frames, r.Info().Frames)
	require.Len(t, r.Info().Notes, 1)
	assert.Contains(t, r.Info().Notes[0], "has passed 4 GiB")
	require.NoError(t, r.SeekFrame(frames-1))
	planes := newPlanes[float64](1, 10)
	n, err := r.ReadFloat64(planes)
	require.NoError(t, err)
	assert.Equal(t, []float64{0.5}, planes[0][:n])
	require.NoError(t, r.Close())
}
