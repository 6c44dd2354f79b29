package wavfile

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestRefusalsNameFileFindingAndWayOut lists what is refused. The first bytes are those of each format's own
// specification; the codec tags are registered in mmreg.h.
func TestRefusalsNameFileFindingAndWayOut(t *testing.T) {
	data := dataChunk(three)
	badGUID := extensibleFmt(tagPCM, 1, 48000, 16, 16)
	badGUID[len(badGUID)-1] ^= 1
	pad := make([]byte, 64)
	for _, c := range []struct {
		name  string
		file  []byte
		found string
	}{
		{"empty", nil, "an empty file"},
		{"one byte", []byte{0x80}, "a file of 1 bytes, too short"},
		{"header alone", riffFile("RIFF"), "without a format chunk"},
		{"FLAC", append([]byte("fLaC\x00\x00\x00\x22"), pad...), "a damaged FLAC file"},
		{"MP3, tagged", append([]byte("ID3\x03"), pad...), "MP3"},
		{"MP3, bare", append([]byte{0xFF, 0xFB, 0x90, 0x64}, pad...), "MP3"},
		{"AAC", append([]byte{0xFF, 0xF1, 0x50, 0x80}, pad...), "AAC"},
		{"AIFF", append([]byte("FORM\x00\x00\x00\x40AIFFCOMM"), pad...), "a damaged AIFF file"},
		{"AIFF-C", append([]byte("FORM\x00\x00\x00\x40AIFCCOMM"), pad...), "a damaged AIFF file"},
		{"Ogg", append([]byte("OggS\x00\x02"), pad...), "Ogg"},
		{"M4A", append([]byte("\x00\x00\x00\x20ftypM4A "), pad...), "MP4 or M4A"},
		{"CAF", append([]byte("caff\x00\x01"), pad...), "CAF"},
		{"big-endian WAV", append([]byte("RIFX\x00\x00\x00\x40WAVE"), pad...), "big-endian"},
		{"Wave64", append([]byte("riff\x2E\x91\xCF\x11\xA5\xD6\x28\xDB"), pad...), "Wave64"},
		{"video", append([]byte("RIFF\x00\x00\x00\x40AVI LIST"), pad...), `form "AVI "`},
		{"companion file", append([]byte("\x00\x05\x16\x07\x00\x02\x00\x00"), pad...), "AppleDouble"},
		{"zeros", make([]byte, 4096), "only zero bytes"},
		{"text", []byte("Aufnahme vom Dienstag: Schlagzeug, Baß\n"), "text"},
		{"text cut within a letter", append(bytes.Repeat([]byte("x"), 63), "ü"...), "text"},
		{"unknown", append([]byte{0xDE, 0xAD, 0xBE, 0xEF}, pad...), "first bytes DE AD BE EF"},

		{"no data chunk", riffFile("RIFF", mono16, listInf), "no data chunk"},
		{"no format chunk", riffFile("RIFF", data), "without a format chunk"},
		{"zeros behind the header", riffFile("RIFF", mono16, make([]byte, 4096)), "no chunk where one should be, at byte 36"},
		{"chunk before data runs away", riffFile("RIFF", mono16, rawChunk("LIST", 1<<30, data)), "no data chunk"},
		{"format chunk too short", riffFile("RIFF", goodChunk("fmt ", make([]byte, 14)), data), "format chunk of 14 bytes"},
		{"extensible cut short", riffFile("RIFF", goodChunk("fmt ", plainFmt(tagExtensible, 1, 48000, 16, 2)), data), "extensible format chunk of 16 bytes"},
		{"unknown sub-format", riffFile("RIFF", badGUID, data), "unknown codec (sub-format 01 00"},
		{"A-law", riffFile("RIFF", fmtChunk(6, 1, 8000, 8), data), "A-law"},
		{"mu-law", riffFile("RIFF", fmtChunk(7, 1, 8000, 8), data), "mu-law"},
		{"mu-law, extensible", riffFile("RIFF", extensibleFmt(7, 1, 8000, 8, 8), data), "mu-law"},
		{"ADPCM", riffFile("RIFF", goodChunk("fmt ", plainFmt(2, 1, 48000, 4, 256)), data), "Microsoft ADPCM"},
		{"MP3 in WAV", riffFile("RIFF", goodChunk("fmt ", plainFmt(0x55, 2, 48000, 0, 1)), data), "MP3 in a WAV file"},
		{"unknown codec", riffFile("RIFF", fmtChunk(0x1234, 1, 48000, 16), data), "format tag 0x1234"},
		{"zero channels", riffFile("RIFF", goodChunk("fmt ", plainFmt(tagPCM, 0, 48000, 16, 2)), data), "zero channels"},
		{"65 channels", riffFile("RIFF", fmtChunk(tagPCM, 65, 48000, 16), data), "65 channels"},
		{"zero rate", riffFile("RIFF", fmtChunk(tagPCM, 1, 0, 16), data), "sample rate of zero"},
		{"rate too low", riffFile("RIFF", fmtChunk(tagPCM, 1, 7999, 16), data), "7999 Hz"},
		{"rate too high", riffFile("RIFF", fmtChunk(tagPCM, 1, 384001, 16), data), "384001 Hz"},
		{"zero bits", riffFile("RIFF", goodChunk("fmt ", plainFmt(tagPCM, 1, 48000, 0, 2)), data), "zero bits"},
		{"zero block align", riffFile("RIFF", goodChunk("fmt ", plainFmt(tagPCM, 2, 48000, 16, 0)), data), "absurd block align (0 bytes"},
		{"block align not whole", riffFile("RIFF", goodChunk("fmt ", plainFmt(tagPCM, 2, 48000, 16, 5)), data), "absurd block align (5 bytes"},
		{"block align too small", riffFile("RIFF", goodChunk("fmt ", plainFmt(tagPCM, 2, 48000, 24, 4)), data), "absurd block align (4 bytes"},
		{"block align too large", riffFile("RIFF", goodChunk("fmt ", plainFmt(tagPCM, 1, 48000, 16, 65535)), data), "absurd block align (65535 bytes"},
		{"PCM of 64 bits", riffFile("RIFF", fmtChunk(tagPCM, 1, 48000, 64), data), "PCM of 64 bits"},
		{"float of 16 bits", riffFile("RIFF", fmtChunk(tagFloat, 1, 48000, 16), data), "float of 16 bits"},
		{"float of 24 bits", riffFile("RIFF", goodChunk("fmt ", plainFmt(tagFloat, 1, 48000, 24, 4)), data), "float of 24 bits"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "some track.wav")
			require.NoError(t, os.WriteFile(path, c.file, 0o666))
			r, err := Open(path)
			require.Nil(t, r)
			var refusal *FormatError
			require.ErrorAs(t, err, &refusal)
			assert.Equal(t, path, refusal.Path)
			assert.Contains(t, refusal.Found, c.found)
			assert.Equal(t, path+": found "+refusal.Found+"; export it as WAV, PCM 24 bit or 32-bit float", err.Error())
		})
	}
}

func TestWhatIsNoFile(t *testing.T) {
	dir := t.TempDir()
	_, err := Open(dir)
	assert.ErrorContains(t, err, dir+": found a folder")
	_, err = Open(filepath.Join(dir, "missing.wav"))
	assert.ErrorIs(t, err, fs.ErrNotExist)
	assert.ErrorContains(t, err, "missing.wav")
	if _, err := os.Stat(os.DevNull); err == nil {
		_, err = Open(os.DevNull)
		assert.ErrorContains(t, err, "not a file")
	}
}

// TestFileShrinksWhileRead cuts the source after opening: an error, never made-up samples.
func TestFileShrinksWhileRead(t *testing.T) {
	file := riffFile("RIFF", mono16, dataChunk(make([]byte, 4000)))
	r, err := newReader("test.wav", bytes.NewReader(file[:1000]), int64(len(file)))
	if err == nil {
		_, err = r.Read(newPlanes[float32](1, 2000))
	}
	assert.ErrorIs(t, err, io.ErrUnexpectedEOF)
	assert.ErrorContains(t, err, "test.wav")
}

func TestWrongPlanes(t *testing.T) {
	r := openBytes(t, riffFile("RIFF", fmtChunk(tagPCM, 2, 48000, 16), dataChunk(make([]byte, 40))))
	_, err := r.Read(newPlanes[float32](1, 4))
	assert.ErrorContains(t, err, "1 planes for 2 channels")
	_, err = r.Read([][]float32{make([]float32, 4), make([]float32, 3)})
	assert.ErrorContains(t, err, "different lengths")
	n, err := r.Read(newPlanes[float32](2, 0))
	assert.NoError(t, err)
	assert.Zero(t, n, "no room asked for, nothing read")
	assert.Len(t, readAll(t, r, 3), 20, "nothing was lost")
}

func TestReadingAllocatesNothing(t *testing.T) {
	file := riffFile("RIFF", fmtChunk(tagPCM, 2, 48000, 24), dataChunk(make([]byte, 6*200_000)))
	r := openBytes(t, file)
	planes := newPlanes[float32](2, 1000)
	assert.Zero(t, testing.AllocsPerRun(150, func() {
		if _, err := r.Read(planes); err != nil {
			t.Fatal(err)
		}
	}))
}

// A file that may not be read is named with the way out. The administrator may read everything, so the trial needs another user.
func TestAFileThatMayNotBeRead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "vox.wav")
	require.NoError(t, os.WriteFile(path, riffFile("WAVE"), 0o000))
	_, err := Open(path)
	if !errors.Is(err, fs.ErrPermission) {
		t.Skip("this user may read every file")
	}
	assert.ErrorContains(t, err, path+": you are not allowed to read this file; change its permissions")
}
