package stems

import (
	"fmt"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// longestName is the longest file name in bytes, ending included: below the 255 of most file systems, with room for
// what a workstation appends.
const longestName = 160

// FileName is the name of a pair's file, "Pair 1 Drums.wav". Numbers have the width of the highest, so that names sort.
func FileName(number, pairs int, name string) string {
	return fitName(pairLabel(number, pairs)+" "+name) + ".wav"
}

// BusFileName is the name of a bus's file, "Pair 1 Bus 2 Percussion.wav".
func BusFileName(number, pairs, bus int, name string) string {
	return fitName(fmt.Sprintf("%s Bus %d %s", pairLabel(number, pairs), bus, name)) + ".wav"
}

func pairLabel(number, pairs int) string {
	return fmt.Sprintf("Pair %0*d", len(fmt.Sprint(max(pairs, 1))), number)
}

// fitName keeps what every system takes in a file name: no control or format characters, none of <>:"/\|?*, no dot or
// space at the end, composed letters, not too long.
func fitName(name string) string {
	name = norm.NFC.String(strings.ToValidUTF8(name, "-"))
	name = strings.Map(func(r rune) rune {
		switch {
		case strings.ContainsRune(`<>:"/\|?*`, r):
			return '-'
		case unicode.IsSpace(r):
			return ' '
		case r < ' ' || unicode.Is(unicode.C, r) || r == unicode.ReplacementChar:
			return -1
		}
		return r
	}, name)
	name = strings.Join(strings.Fields(name), " ")
	for most := longestName - len(".wav"); len(name) > most; {
		r := []rune(name)
		name = string(r[:len(r)-1])
	}
	return strings.TrimRight(name, ". ")
}

// ownNames gives every file a name of its own, whatever pairs and buses are called: pairs keep theirs, then buses take
// what is left, with " (2)" and so on behind it. Names that differ in case alone are one on some systems.
func ownNames(jobs []*job) {
	taken := map[string]bool{}
	own := func(f *file) {
		base := strings.TrimSuffix(f.stem.Path, ".wav")
		for n := 2; taken[strings.ToLower(f.stem.Path)]; n++ {
			f.stem.Path = fmt.Sprintf("%s (%d).wav", base, n)
		}
		taken[strings.ToLower(f.stem.Path)] = true
	}
	for _, j := range jobs {
		own(j.files[0])
	}
	for _, j := range jobs {
		for _, f := range j.files[1:] {
			own(f)
		}
	}
}
