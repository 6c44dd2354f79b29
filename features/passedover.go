package features

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// elsewhere are audio formats that are not read, by the ending of the name, and why.
var elsewhere = map[string]string{
	".mp3": "MP3", ".m4a": "AAC or ALAC in MP4", ".aac": "AAC", ".mp4": "MP4", ".ogg": "Ogg Vorbis", ".oga": "Ogg", ".opus": "Opus",
	".wma": "WMA", ".ape": "Monkey's Audio", ".wv": "WavPack", ".tta": "True Audio", ".mp2": "MPEG layer 2", ".ac3": "AC-3",
	".caf": "CAF", ".w64": "Wave64", ".au": "Sun AU", ".snd": "Sun AU", ".sd2": "Sound Designer II", ".mid": "MIDI (notes, no sound)",
	".midi": "MIDI (notes, no sound)", ".mov": "a film", ".avi": "a film", ".mkv": "a film", ".zip": "an archive; unpack it first",
}

// papers are endings of what lies beside tracks and is no track: notes, pictures, tables, what this program writes.
var papers = []string{".txt", ".md", ".pdf", ".rtf", ".doc", ".docx", ".csv", ".tsv", ".json", ".toml", ".yaml", ".xml", ".html", ".svg",
	".png", ".jpg", ".jpeg", ".gif", ".webp", ".ini", ".log", ".xls", ".xlsx", ".ods", ".odt", ".db"}

// PassedOver says of the files Find has skipped, one sentence each, which may be tracks that were meant: links that lead
// nowhere, audio in formats that are not read, hidden files, and what it does not know; in the order given. The shadow files of
// macOS, of which there is one for each track, share one sentence at the end. Notes, pictures and tables are left out. Names are
// below folder.
func PassedOver(folder string, skipped []string) []string {
	var out, shadows []string
	for _, path := range skipped {
		name := path
		if below, err := filepath.Rel(folder, path); err == nil {
			name = filepath.ToSlash(below)
		}
		ending := strings.ToLower(filepath.Ext(path))
		st, err := os.Stat(path)
		format := elsewhere[ending]
		switch {
		case errors.Is(err, fs.ErrNotExist):
			out = append(out, fmt.Sprintf("%s: passed over: a link that leads nowhere; mend it or copy the file here", name))
		case err != nil:
			out = append(out, fmt.Sprintf("%s: passed over: it cannot be looked at; check its permissions", name))
		case st.IsDir():
			out = append(out, fmt.Sprintf("%s: passed over: a link to a folder; what is in it is not looked at, copy the tracks here", name))
		case strings.HasPrefix(filepath.Base(path), ".") && st.Mode().IsRegular() && isShadow(path):
			shadows = append(shadows, name)
		case strings.HasPrefix(filepath.Base(path), "."):
			out = append(out, fmt.Sprintf("%s: passed over: a hidden file, as its name begins with a dot; rename it if it is a track", name))
		case !st.Mode().IsRegular():
			out = append(out, fmt.Sprintf("%s: passed over: a pipe or device, not a file; copy the sound into a file", name))
		case format != "":
			out = append(out, fmt.Sprintf("%s: passed over: %s is not read; export the track as WAV, AIFF or FLAC", name, format))
		case !slices.Contains(papers, ending):
			out = append(out, fmt.Sprintf("%s: passed over: not a name of an audio file; if it is a track, export it as WAV, AIFF or FLAC", name))
		}
	}
	switch len(shadows) {
	case 0:
	case 1:
		out = append(out, shadows[0]+": passed over: a shadow file of macOS, without sound")
	default:
		out = append(out, fmt.Sprintf("%s and %d more: passed over: shadow files of macOS, without sound", shadows[0], len(shadows)-1))
	}
	return out
}

// isShadow reports whether a file is what macOS keeps of a file's attributes on foreign disks: it begins with the signature of
// AppleDouble (RFC 1740, section 4).
func isShadow(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close() //nolint:errcheck // only read
	var start [4]byte
	_, err = io.ReadFull(f, start[:])
	return err == nil && start == [4]byte{0x00, 0x05, 0x16, 0x07}
}
