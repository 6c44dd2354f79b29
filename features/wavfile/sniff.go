package wavfile

import (
	"bytes"
	"fmt"
	"unicode/utf8"
)

// signatures are the first bytes of what else lies about in a session folder.
var signatures = []struct {
	offset int
	magic  string
	name   string
}{
	{0, "fLaC", "FLAC"},
	{0, "ID3", "MP3"},
	{0, "OggS", "Ogg (Vorbis, Opus or FLAC)"},
	{0, "caff", "CAF"},
	{8, "AIFF", "AIFF"},
	{8, "AIFC", "AIFF-C"},
	{4, "ftyp", "MP4 or M4A (AAC or ALAC)"},
	{0, ".snd", "Sun AU"},
	{0, "wvpk", "WavPack"},
	{0, "MAC ", "Monkey's Audio"},
	{0, "TTA1", "True Audio"},
	{0, "MThd", "MIDI, which holds notes and no audio"},
	{0, "\x30\x26\xB2\x75\x8E\x66\xCF\x11", "WMA"},
	{0, "\x1A\x45\xDF\xA3", "Matroska or WebM"},
	{0, "riff\x2E\x91\xCF\x11", "Wave64"},
	{0, "RIFX", "RIFX, WAV in big-endian order"},
	{0, "\x00\x05\x16\x07", "an AppleDouble companion file (the sound is in the file of that name without \"._\")"},
	{0, "PK\x03\x04", "a ZIP archive"},
	{0, "\x1F\x8B", "a gzip archive"},
	{0, "%PDF", "PDF"},
	{0, "\x89PNG", "a PNG picture"},
	{0, "\xFF\xD8\xFF", "a JPEG picture"},
}

// sniff names what a file that does not start as WAV seems to be, from its first bytes.
func sniff(head []byte) string {
	if len(head) == 0 {
		return "an empty file"
	}
	for _, s := range signatures {
		if len(head) >= s.offset && bytes.HasPrefix(head[s.offset:], []byte(s.magic)) {
			return s.name
		}
	}
	if len(head) >= 12 && (string(head[:4]) == "RIFF" || string(head[:4]) == "RF64" || string(head[:4]) == "BW64") {
		return fmt.Sprintf("a RIFF file of form %q, not WAVE", head[8:12])
	}
	if len(head) >= 2 && head[0] == 0xFF && head[1]&0xE0 == 0xE0 {
		if head[1]&0x06 == 0 { // layer bits 00: an ADTS frame of AAC
			return "AAC"
		}
		return "MP3"
	}
	if len(bytes.Trim(head, "\x00")) == 0 {
		return "only zero bytes where the header should be"
	}
	if isText(head) {
		return "text"
	}
	if len(head) < 12 {
		return fmt.Sprintf("a file of %d bytes, too short for a header", len(head))
	}
	return fmt.Sprintf("an unknown file type (first bytes % X)", head[:4])
}

// isText reports whether head is printable UTF-8; a letter cut off at the end of head is allowed.
func isText(head []byte) bool {
	for len(head) > 0 {
		r, n := utf8.DecodeRune(head)
		if r == utf8.RuneError && n == 1 {
			return !utf8.FullRune(head)
		}
		if r < ' ' && r != '\t' && r != '\n' && r != '\r' {
			return false
		}
		head = head[n:]
	}
	return true
}

// codecs names the format tags of compressed WAV files (registered in mmreg.h).
var codecs = map[uint16]string{
	0x0002: "Microsoft ADPCM",
	0x0006: "A-law",
	0x0007: "mu-law",
	0x0011: "IMA ADPCM",
	0x0031: "GSM 6.10",
	0x0040: "G.721 ADPCM",
	0x0050: "MPEG layer 1 or 2",
	0x0055: "MP3",
	0x0092: "AC-3",
	0x00FF: "AAC",
	0x0161: "WMA",
	0x0162: "WMA",
	0x0163: "WMA lossless",
	0xF1AC: "FLAC",
}

func codecName(tag uint16) string {
	if name, ok := codecs[tag]; ok {
		return name + " in a WAV file"
	}
	return fmt.Sprintf("an unknown codec (format tag 0x%04X) in a WAV file", tag)
}
