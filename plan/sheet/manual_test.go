package sheet

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// utf16Text is text as spreadsheets save "Unicode text".
func utf16Text(text string, bigEndian, mark bool) string {
	var out bytes.Buffer
	if mark {
		text = "\uFEFF" + text
	}
	for _, u := range utf16.Encode([]rune(text)) {
		low, high := byte(u), byte(u>>8)
		if bigEndian {
			low, high = high, low
		}
		out.WriteByte(low)
		out.WriteByte(high)
	}
	return out.String()
}

func TestManualSheetsAsSpreadsheetsSaveThem(t *testing.T) {
	// Invented tables, each in a form that a spreadsheet or a person writes; all say the same.
	plain := "track,pair\nKick.wav,1\nVöx,2\n"
	for _, c := range []struct{ name, text string }{
		{"plain", plain},
		{"byte order mark", "\uFEFF" + plain},
		{"CRLF", strings.ReplaceAll(plain, "\n", "\r\n")},
		{"old line ends", strings.ReplaceAll(plain, "\n", "\r")},
		{"no last line end", strings.TrimSuffix(plain, "\n")},
		{"semicolons", strings.ReplaceAll(plain, ",", ";")},
		{"tabs", strings.ReplaceAll(plain, ",", "\t")},
		{"bars", strings.ReplaceAll(plain, ",", " | ")},
		{"separator line", "sep=;\r\n" + strings.ReplaceAll(plain, ",", ";")},
		{"quotes", "\"track\",\"pair\"\n\"Kick.wav\",\"1\"\n\"Vöx\",\"2\"\n"},
		{"other order and case", "Notes;PAIR;Track\nloud;1;Kick.wav\n;2;Vöx\n"},
		{"other headings", "Pair No,File name,Pair\n9,Kick.wav,1\n9,Vöx,2\n"},
		{"headings as labels", "Track Name,Pair No.\nKick.wav,1\nVöx,2\n"},
		{"a note of several lines", "track,pair,note\nKick.wav,1,\"two\nlines\"\nVöx,2,\n"},
		{"an inch", "track,pair,note\nKick.wav,1,22\" shell\nVöx,2,\n"},
		{"pairs in words", "track,pair\nKick.wav,Pair 1\nVöx,P2\n"},
		{"line outputs", "track,outputs\nKick.wav,1/2\nVöx,Out 3-4\n"},
		{"UTF-16 little", utf16Text(strings.ReplaceAll(plain, ",", "\t"), false, true)},
		{"UTF-16 big", utf16Text(plain, true, true)},
		{"UTF-16 without mark", utf16Text(plain, false, false)},
		{"Windows-1252", strings.ReplaceAll(plain, "ö", "\xf6")},
		{"empty lines and spaces", "\ntrack , pair\n\n  Kick.wav , 1 \n\nVöx, 2\n,,\n"},
	} {
		m, err := ReadManual(strings.NewReader(c.text))
		if !assert.NoError(t, err, c.name) {
			continue
		}
		require.Len(t, m.Rows, 2, c.name)
		assert.Equal(t, "Kick.wav", m.Rows[0].Track, c.name)
		assert.Equal(t, "Vöx", m.Rows[1].Track, c.name)
		assert.Equal(t, 1, m.Rows[0].Pair, c.name)
		assert.Equal(t, 2, m.Rows[1].Pair, c.name)
		assert.Len(t, m.Names, 2, c.name)
	}
}

func TestManualSheetsWithNamesForPairs(t *testing.T) {
	m, err := ReadManual(strings.NewReader("track,pair,bus\nKick,Rhythm,Drums\nVox,Vocals,\nBass,rhythm,Bass\nSpare,,\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{"Rhythm", "Vocals"}, m.Names) // in order of appearance
	assert.Equal(t, []ManualRow{{Line: 2, Track: "Kick", Pair: 1, Bus: "Drums"}, {Line: 3, Track: "Vox", Pair: 2, Bus: ""}, {Line: 4, Track: "Bass", Pair: 1, Bus: "Bass"}, {Line: 5, Track: "Spare", Pair: 0, Bus: ""}}, m.Rows)
	// names that hold numbers or months are no dates
	m, err = ReadManual(strings.NewReader("track,pair\nKick,1 Drums\nMarimba,2 Mar Imba\nVox,Bus 12\nGtr,Band 1\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{"1 Drums", "2 Mar Imba", "Bus 12", "Band 1"}, m.Names)
	// beside numbers a name takes a number that is free, and the numbers stay what they are
	m, err = ReadManual(strings.NewReader("track,pair\nVox,Voices\nKick,1\nBass,3\nChoir,voices\nSpare,\nFX,Air\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{"", "Voices", "", "Air"}, m.Names)
	for i, want := range []int{2, 1, 3, 2, 0, 4} {
		assert.Equal(t, want, m.Rows[i].Pair, m.Rows[i].Track)
	}
	assert.Equal(t, []string{"line 2: Voices is no number as on other lines, and is taken as the name of pair 2", "line 7: Air is no number as on other lines, and is taken as the name of pair 4"}, m.Notes)
	m, err = ReadManual(strings.NewReader("track,pair,pair_name\nKick,2,Low End\nVox,1,\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{"", "Low End"}, m.Names)
}

func TestManualSheetsThatCannotBeRead(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "no header"},
		{"no header", "Kick.wav,1\n", "no header"},
		{"only a header", "track,pair\n", "no tracks"},
		{"no pairs", "track,pair\nKick,\n", "no track has a pair"},
		{"pair 0", "track,pair\nKick,0\n", "counted from 1"},
		{"pair far off", "track,pair\nKick,1000\n", "counted from 1"},
		{"half a pair", "track,pair\nKick,1.5\nVox,2\n", "pair 1.5: want a whole number"},
		{"a pair that became a day", "track,pair\nKick,1\nVox,6-May\n", "line 3: pair 6-May looks like a date"},
		{"a pair that became a day in German", "Spur;Paar\nKick;05. Jun\n", "looks like a date"},
		{"a pair that became a whole date", "track,pair\nKick,05/06/2026\n", "looks like a date"},
		{"a mark that is not closed", "track,pair\nKick,1\n\"Vox,2\nBass,3\n\"Gtr\",4\n", "line 3: a quotation mark opens the cell \"Vox,2\""},
		{"a mark behind which something follows", "track,pair\n\"Kick\" ,1\nVox,2\n", "line 2: a quotation mark"},
		{"workbook", "PK\x03\x04abcdefgh", "workbook"},
		{"binary", "RIFF\x00\x01\x02\x03\x00WAVE", "not a text file"},
		{"faulty JSON sheet", "{\"schema\":", "not a sheet"},
	} {
		_, err := ReadManual(strings.NewReader(c.text))
		assert.ErrorContains(t, err, c.want, c.name)
	}
}

func TestASavedSheetIsAManualSheetToo(t *testing.T) {
	m, err := ReadManual(strings.NewReader(`{"schema":1,"pairs":[{"name":"Low","tracks":[{"file":"a.wav","bus":"Bass"}]},{"name":"Free","tracks":[]}]}`))
	require.NoError(t, err)
	assert.Equal(t, []string{"Low", "Free"}, m.Names)
	assert.Equal(t, []ManualRow{{Line: 1, Track: "a.wav", Pair: 1, Bus: "Bass"}}, m.Rows)
}

func TestTracksAreFoundByWhatPeopleCallThem(t *testing.T) {
	f := NewFinder([]string{"takes/01 Kick_In.wav", "takes/Vox.wav", "old/Vox.wav", "Gtr.L.WAV"})
	for name, want := range map[string][]int{
		"takes/01 Kick_In.wav":   {0},
		`C:\song\01 kick_in.WAV`: {0},
		"01 KICK IN":             {0},
		"./takes/vox.wav":        {1},
		"Vox":                    {1, 2},
		"gtr.l":                  {3},
		"Gtr L":                  {3},
		"nobody":                 nil,
		"":                       nil,
	} {
		assert.Equal(t, want, f.All(name), name)
	}
}

func FuzzReadManual(f *testing.F) {
	for _, s := range []string{"track,pair\na,1\n", "sep=;\ntrack;pair\n\"a\";x\n", "\xff\xfet\x00", "{\"schema\":1}", "track\tpair\r\na\t1/2\r\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ReadManual(bytes.NewReader(data))
		if err != nil {
			return
		}
		for _, r := range m.Rows {
			if r.Pair < 0 || r.Pair > len(m.Names) || r.Track == "" {
				t.Fatalf("row %+v with %d pairs", r, len(m.Names))
			}
		}
	})
}
