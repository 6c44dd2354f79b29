package roles

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Names in the conventions engineers use; what they mean is common practice, no source.
func TestNamesInManyConventions(t *testing.T) {
	for _, c := range []struct{ name, role, kind, side string }{
		{"01 Kick In.wav", "kick", "", ""},
		{"BD_in.wav", "kick", "", ""},
		{"KIK.OUT.03.wav", "kick", "", ""},
		{"gtr-L.2.wav", "electric guitar", "", "L"},
		{"BGV 07.wav", "backing vocal", "", ""},
		{"LdVox dbl.wav", "lead vocal", "double", ""},
		{"SnTop.wav", "snare", "", ""},
		{"SN BTM", "snare", "", ""},
		{"HH", "hat", "", ""},
		{"OHL", "overhead", "", "L"},
		{"OH_R_01.wav", "overhead", "", "R"},
		{"Floor Tom", "tom", "", ""},
		{"T2", "tom", "", ""},
		{"Drum Room L", "room", "", "L"},
		{"Piano Room", "piano", "", ""},
		{"bs_DI", "bass", "", ""},
		{"Bass Drum", "kick", "", ""},
		{"Synth Bass", "bass", "", ""},
		{"SynBs", "bass", "", ""},
		{"EG2", "electric guitar", "", ""},
		{"AcGtr R", "acoustic guitar", "", "R"},
		{"AG_04", "acoustic guitar", "", ""},
		{"EP", "piano", "", ""},
		{"B3 Hi", "organ", "", ""},
		{"Pad 2", "synth", "", ""},
		{"Vln1", "strings", "", ""},
		{"VC", "strings", "", ""},
		{"TSx", "horns", "", ""},
		{"Tpt.1", "horns", "", ""},
		{"LV", "lead vocal", "", ""},
		{"Lead Voc", "lead vocal", "", ""},
		{"Lead Gtr", "electric guitar", "", ""},
		{"Lead Synth", "synth", "", ""},
		{"Choir Alto", "backing vocal", "", ""},
		{"Alto Sax", "horns", "", ""},
		{"Gang Shouts", "backing vocal", "", ""},
		{"Vox Plate", "lead vocal", "return", ""},
		{"Snr Verb Rtn", "snare", "return", ""},
		{"Drum Crush", "drums", "parallel", ""},
		{"GTR DLY", "electric guitar", "return", ""},
		{"Westerngitarre", "acoustic guitar", "", ""},
		{"Akustikgitarre 2", "acoustic guitar", "", ""},
		{"Grosse Caisse", "kick", "", ""},
		{"Große Trommel", "kick", "", ""},
		{"Chœurs", "backing vocal", "", ""},
		{"Voix lead", "lead vocal", "", ""},
		{"Chitarra Acustica", "acoustic guitar", "", ""},
		{"Batería", "drums", "", ""},
		{"Violão", "acoustic guitar", "", ""},
	} {
		h := Parse([]string{c.name})[0]
		role, p := h.Best()
		assert.Equal(t, c.role, role, c.name)
		assert.Greater(t, p, 0.5, c.name)
		assert.Equal(t, c.kind, h.Kind, c.name)
		assert.Equal(t, c.side, h.Side, c.name)
	}
}

// "glas" is Croatian for a voice and "ses" Turkish, but no one glues the two; two words of one language are glued daily.
func TestWordsAreGluedWithinOneLanguage(t *testing.T) {
	assert.Zero(t, Parse([]string{"Glasses.wav"})[0].Known())
	for name, want := range map[string]string{"leadvox.wav": "lead vocal", "kicksnare.wav": "drums", "Sologesang.wav": "lead vocal", "bassgitarre.wav": "bass"} {
		role, _ := Parse([]string{name})[0].Best()
		if name == "kicksnare.wav" {
			assert.Contains(t, []string{"drums", "kick", "snare"}, role)
			continue
		}
		assert.Equal(t, want, role, name)
	}
}

func TestNamesThatSayNothingAreEmptyHints(t *testing.T) {
	for _, name := range []string{"Audio 07.wav", "", ".wav", "12", "Жжж", "録音 3", "___", "Track", "🎛"} {
		h := Parse([]string{name})[0]
		assert.Zero(t, h.Known(), name)
		role, p := h.Best()
		assert.Empty(t, role, name)
		assert.Zero(t, p, name)
	}
}

func TestTheSessionsLanguageDecides(t *testing.T) {
	french := Parse([]string{"Voix", "Violon 1", "Alto", "Guitare", "Piano G", "Piano D"})
	role, _ := french[2].Best()
	assert.Equal(t, "strings", role, "alto beside French words is a viola")
	assert.Equal(t, "L", french[4].Side)
	assert.Equal(t, "R", french[5].Side)
	assert.Equal(t, french[4].Stem, french[5].Stem)
	english := Parse([]string{"Lead Voc", "Soprano", "Alto", "Tenor", "Piano"})
	role, _ = english[2].Best()
	assert.Equal(t, "backing vocal", role)
}

func TestAbbreviationsAreReadInTheSessionsLanguage(t *testing.T) {
	names := []string{"Bom", "Caj", "Cha", "Tom1", "Bon", "BajSin", "PiaLeft", "Tec", "Vio", "Cor", "Cor2", "Voz", "PlaVox"}
	want := []string{"kick", "snare", "hat", "tom", "percussion", "bass", "piano", "piano", "strings", "backing vocal", "backing vocal", "lead vocal", "lead vocal"}
	for i, h := range Parse(names) {
		role, _ := h.Best()
		assert.Equal(t, want[i], role, names[i])
	}
}

func TestAGroupOfVoicesBacks(t *testing.T) {
	for _, h := range Parse([]string{"Trio - Voice 1", "Trio - Voice 2", "Trio - Voice 3"}) {
		role, _ := h.Best()
		assert.Equal(t, "backing vocal", role)
	}
	for _, h := range Parse([]string{"Lead Vox 1", "Lead Vox 2", "Lead Vox 3", "Vox"}) {
		role, _ := h.Best()
		assert.Equal(t, "lead vocal", role)
	}
}

func TestACommonPrefixIsTheSongNotTheTrack(t *testing.T) {
	names := []string{"Bass Street_01_Kick", "Bass Street_02_Snare", "Bass Street_03_Hat", "Bass Street_04_Bass",
		"Bass Street_05_Piano", "Bass Street_06_Vox", "Bass Street_07_Pad"}
	want := []string{"kick", "snare", "hat", "bass", "piano", "lead vocal", "synth"}
	for i, h := range Parse(names) {
		role, _ := h.Best()
		assert.Equal(t, want[i], role, names[i])
	}
}

func TestProbabilitiesAreProbabilities(t *testing.T) {
	for _, h := range Parse([]string{"Bass Vox Gtr Keys Room OH", "Lead", "Bass Fuzz", "Click"}) {
		assert.LessOrEqual(t, h.Known(), 1.0)
		assert.GreaterOrEqual(t, h.Known(), 0.0)
	}
	assert.True(t, Parse([]string{"Click"})[0].Noise)
}

func TestTheTablesAreWellFormed(t *testing.T) {
	known := setOf("kick snare hat tom overhead cymbal room drums percussion bass electric_guitar acoustic_guitar piano organ " +
		"synth strings horns lead_vocal backing_vocal @return @parallel @double @noise @part @solo @lead @upright @harp @bg " +
		"@mic @pair @hall @reverse @fx @comp @voice @main @weak @slap @arp")
	scenes := setOf("@winds @saxes @strings @samba @kit")
	seen := map[string]bool{}
	for _, line := range tableLines() {
		if line == "" || line[0] == '#' {
			continue
		}
		r, ok := parseRow(line)
		require.True(t, ok, line)
		for role, w := range r.score {
			assert.True(t, known[strings.ReplaceAll(role, " ", "_")], "%q: role %q", line, role)
			assert.Greater(t, w, 0.0, line)
		}
		for _, lang := range r.langs {
			assert.True(t, lang == "-" || len(lang) == 2 || scenes[lang], "%q: language %q", line, lang)
			for _, w := range r.words {
				assert.NotEmpty(t, w, line)
				assert.False(t, seen[w+"\t"+lang], "%q twice in %q", w, lang)
				seen[w+"\t"+lang] = true
			}
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"01 Kick In.wav", "../..//\\x.wav", "gtr-L.2", "Große", "\xff\xfe", "a\x00b", "ＢＧＶ"} {
		f.Add(s, "Voix")
	}
	f.Fuzz(func(t *testing.T, a, b string) {
		for _, h := range Parse([]string{a, b, a}) {
			if k := h.Known(); k < 0 || k > 1+1e-12 {
				t.Fatalf("probability %g for %q", k, a)
			}
		}
	})
}
