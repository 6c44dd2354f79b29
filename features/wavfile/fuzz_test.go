package wavfile

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzReader feeds arbitrary bytes: either a refusal that says what to do, or finite samples of which there are as many as
// announced, all within the file.
func FuzzReader(f *testing.F) {
	bext := goodChunk("bext", make([]byte, 610))
	f.Add(riffFile("RIFF", mono16, dataChunk(three)))
	f.Add(riffFile("RIFF", bext, extensibleFmt(tagPCM, 2, 96000, 32, 24), dataChunk(make([]byte, 17)), listInf))
	f.Add(riffFile("RIFF", fmtChunk(tagFloat, 1, 48000, 32), rawChunk("data", unknownSize, make([]byte, 9))))
	f.Add(riffFile("RIFF", fmtChunk(tagFloat, 1, 48000, 64), rawChunk("data", 0, bytes.Repeat([]byte{0x7F, 0xF0}, 12))))
	f.Add(riffFile("RF64", ds64(0, 6, 3, append([]byte("LIST"), make([]byte, 8)...)...), mono16, rawChunk("data", unknownSize, three)))
	f.Add(riffFile("BW64", ds64(0, math.MaxUint64, 3), fmtChunk(tagPCM, 3, 8000, 24), rawChunk("data", 0x7FFFEFFF, three)))
	f.Add([]byte("fLaC"))
	f.Add([]byte("fLaC\x80\x00\x00\x22\x10\x00\x10\x00\x00\x00\x00\x00\x00\x00\x0A\xC4\x40\xF0\x00\x00\x00\x00" + strings.Repeat("\x00", 16)))
	f.Add(aiffFile("AIFF", comm(2, 3, 24, 48000, ""), ssnd(make([]byte, 18))))
	f.Add(aiffFile("AIFC", comm(1, 2, 32, 96000, "fl32"), ssnd([]byte{0x7F, 0x80, 0, 0, 1, 2, 3, 4})))
	f.Add(aiffFile("AIFC", comm(1, 0, 8, 8000, "sowt"), ssnd([]byte{1, 2, 3})))
	f.Fuzz(func(t *testing.T, file []byte) {
		r, err := newReader("fuzz.wav", bytes.NewReader(file), int64(len(file)))
		if err != nil {
			var refusal *FormatError
			require.True(t, errors.As(err, &refusal), "%v", err)
			require.True(t, strings.HasPrefix(err.Error(), "fuzz.wav: found "))
			return
		}
		info := r.Info()
		if info.Container != "FLAC" {
			require.LessOrEqual(t, info.Frames*int64(info.Channels*info.ContainerBits/8), int64(len(file)))
		}
		planes := newPlanes[float32](info.Channels, 5)
		total := int64(0)
		for err == nil {
			var n int
			n, err = r.Read(planes)
			total += int64(n)
			for _, p := range planes {
				for _, v := range p[:n] {
					if v-v != 0 {
						t.Fatalf("sample %v", v)
					}
				}
			}
		}
		if info.Container == "FLAC" && !errors.Is(err, io.EOF) {
			require.ErrorContains(t, err, "fuzz.wav: ")
			return
		}
		require.ErrorIs(t, err, io.EOF)
		require.Equal(t, info.Frames, total)
	})
}
