package roles

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What a word means hangs on the words beside it and on the other names; common practice, no source.
func TestWordsAreReadInTheirCompany(t *testing.T) {
	rock := []string{"Kick", "Snare", "Hat", "OH L", "Bass", "Gtr L", "Gtr R", "Lead Vox"}
	band := []string{"AS1", "TS1", "Tp1", "Tbn 1", "Kick", "Hat"}
	choir := []string{"S1 Ida", "S2 Ada", "A1 Ola", "A2 Una", "T2 Per", "Organ"}
	quartet := []string{"Vln 1", "Vln 2", "Vla", "Vc", "Vox"}
	sections := []string{"DR_Kick", "DR_Snare", "BS_DI", "BS_Amp", "GT_Rhy_L", "GT_Rhy_R", "KY_Pad", "VX_Lead", "VX_Dbl"}
	for _, c := range []struct {
		others     []string
		name, role string
	}{
		{rock, "Upright Bridge", "bass"},
		{[]string{"Vox", "Piano", "Snare"}, "Upright", "bass"},
		{rock, "Upright", "piano"},
		{rock, "Upright Pno", "piano"},
		{rock, "Solo", "electric guitar"},
		{choir, "Solo Ida", "lead vocal"},
		{rock, "BG DI", "bass"},
		{rock, "BG Lo", "backing vocal"},
		{rock, "Vox Drums", "backing vocal"},
		{rock, "Gtr Bari", "electric guitar"},
		{band, "Bari", "horns"},
		{choir, "Bari", "backing vocal"},
		{band, "Tenor", "horns"},
		{choir, "Tenor", "backing vocal"},
		{band, "BS", "horns"},
		{band, "BS DI", "bass"},
		{rock, "BS", "bass"},
		{band, "Tb2", "horns"},
		{band, "Kb", "bass"},
		{rock, "Kb", "piano"},
		{sections, "GT_Harm1", "electric guitar"},
		{sections, "DR_Conga", "percussion"},
		{sections, "VX_Harm1", "backing vocal"},
		{rock, "V1 Dbl", "lead vocal"},
		{choir, "Ens Bari", "backing vocal"},
		{[]string{"Gr. caisse", "C. claire", "Voix", "Chœur 1", "Guit. rythm."}, "Guit. chant", "electric guitar"},
		{[]string{"bd", "sn", "hh", "bs", "vx"}, "g1", "electric guitar"},
		{[]string{"Surdo 1", "Surdo 2", "Cuíca", "Pandeiro", "Violão", "Voz"}, "Caixa 1", "percussion"},
		{[]string{"Bumbo", "Baixo", "Violão", "Voz", "Teclado"}, "Caixa 1", "snare"},
		{quartet, "Cb", "strings"},
		{quartet, "Contrebasses", "strings"},
		{rock, "Contrebasse", "bass"},
		{quartet, "Archi bassi", "strings"},
		{choir, "Bari Bass", "backing vocal"},
		{rock, "Clean Arp", "electric guitar"},
		{[]string{"Pad", "Synth Lead", "Gtr"}, "Arp", "synth"},
		{rock, "Kit SD", "snare"},
		{quartet, "Harp", "strings"},
		{rock, "Harp Amp", "horns"},
		{choir, "T1 Leo", "backing vocal"},
		{rock, "T1 Top", "tom"},
		{rock, "07 R2", "tom"},
		{rock, "FT", "tom"},
		{[]string{"Fiddle", "Mando", "Banjo", "Vox"}, "Gtr", "acoustic guitar"},
		{rock, "Gtr", "electric guitar"},
		{rock, "Tamb Ladies", "percussion"},
		{rock, "Ladies", "backing vocal"},
		{rock, "Bass Verse", "bass"},
		{nil, "Vrs 2", "lead vocal"},
		{quartet, "Hall AB L", "room"},
		{quartet, "Main AB", "room"},
		{quartet, "ORTF L", "room"},
		{rock, "Room ORTF", "room"},
		{rock, "Kick 808", "kick"},
		{rock, "808 Slide", "bass"},
		{rock, "Reed 2 (Cl/Bs Cl)", "horns"},
		{rock, "O/H L", "overhead"},
		{rock, "Drums - Over left", "overhead"},
	} {
		hints := Parse(append([]string{c.name + ".wav"}, c.others...))
		role, p := hints[0].Best()
		assert.Equal(t, c.role, role, "%s among %v", c.name, c.others)
		assert.Greater(t, p, 0.35, c.name)
		assert.False(t, hints[0].Noise, c.name)
		assert.NotEqual(t, "return", hints[0].Kind, c.name)
	}
}

// A return keeps the role of its source; common practice, no source.
func TestReturnsInManyLanguagesKeepTheirSource(t *testing.T) {
	for name, role := range map[string]string{
		"Galm zang": "lead vocal", "Klang skarp": "snare", "Pogłos wokal": "lead vocal", "Hal zpěv": "lead vocal",
		"Kaiku kuoro": "backing vocal", "Rev yaylı": "strings", "Ревер струнные": "strings", "Hall Gesang": "lead vocal",
		"Réverb voix": "lead vocal", "Eco chitarra": "electric guitar", "VX pingpong": "lead vocal", "FX Verb LV": "lead vocal",
	} {
		h := Parse([]string{name})[0]
		best, _ := h.Best()
		assert.Equal(t, role, best, name)
		assert.Equal(t, "return", h.Kind, name)
	}
}

// Effect sounds and what leads the players belong to no instrument; common practice, no source.
func TestSoundsOfNoInstrument(t *testing.T) {
	for _, name := range []string{"Click", "Count In", "Metronom", "Klik", "Claqueta", "Guide Vox", "Voz guia", "TB Conductor",
		"Riser", "Impact 2", "Downlifter", "Whoosh", "Reverse Cym", "Tape Hiss", "Vinyl", "Rain", "Field Rec", "Foley door",
		"Glitch FX", "Шум", "Bruit blanc", "Rauschen"} {
		h := Parse([]string{name, "Kick", "Snare", "Lead Vox", "Bass", "Piano"})[0]
		assert.True(t, h.Noise, name)
		assert.Zero(t, h.Known(), name)
	}
	for name, kind := range map[string]string{"FX 1": "return", "Vox FX": "return", "Bass Slap": "", "Vox Comp": "", "Drum Comp": "parallel"} {
		h := Parse([]string{name})[0]
		assert.False(t, h.Noise, name)
		assert.Equal(t, kind, h.Kind, name)
	}
}

// The words for the same things in other languages and alphabets, typed or in their own letters; dictionaries of the
// trade, from memory.
func TestOtherLanguagesAndAlphabets(t *testing.T) {
	for name, role := range map[string]string{
		"Бочка": "kick", "bochka": "kick", "Малый верх": "snare", "Хай-хэт": "hat", "Скрипки 1": "strings", "Вокал": "lead vocal",
		"Бэк-вокал": "backing vocal", "Баян": "organ", "Сопілка": "horns", "κιθάρα": "electric guitar", "Μπουζούκι": "acoustic guitar",
		"mpouzouki": "acoustic guitar", "φωνή": "lead vocal", "fwnh": "lead vocal", "Virveli": "snare", "Hanuri": "organ",
		"Skarptromme": "snare", "Trekkspill": "organ", "Ståbas": "bass", "Kör": "backing vocal", "Gitaar": "electric guitar",
		"Koortje": "backing vocal", "Werbel": "snare", "Chórki": "backing vocal", "Kopák": "kick", "Housle": "strings",
		"Lábdob": "kick", "Nagybőgő": "bass", "Vioara": "strings", "Doboš": "snare", "Yaylılar": "strings", "Bağlama": "acoustic guitar",
		"Trampet": "snare", "Wadaiko": "percussion", "ドラム": "drums", "ギター": "electric guitar", "主唱": "lead vocal", "보컬": "lead vocal",
		"Cavaquinho": "acoustic guitar", "Acordeão": "organ", "Fueye": "organ", "Bläsersatz": "horns", "Hängetom": "tom",
		"Nyckelharpa": "strings", "Uilleann": "horns", "Erhu": "strings", "Gayageum": "acoustic guitar", "Nyabinghi": "percussion",
	} {
		best, _ := Parse([]string{name})[0].Best()
		assert.Equal(t, role, best, name)
	}
}

func TestShortenedAndMisspeltWords(t *testing.T) {
	for name, role := range map[string]string{
		"Trmpt": "horns", "Mandolyn": "acoustic guitar", "Tamborine": "percussion", "Saxaphone": "horns", "Violns": "strings",
		"Accordian": "organ", "Vibrphone": "piano", "Trombne": "horns",
	} {
		best, _ := Parse([]string{name})[0].Best()
		assert.Equal(t, role, best, name)
	}
	for _, name := range []string{"Denise", "Whatever", "Bridge", "Second take", "The big one"} {
		assert.Less(t, Parse([]string{name})[0].Known(), 0.5, name)
	}
}

func BenchmarkParse(b *testing.B) {
	var names []string
	for range 10 {
		names = append(names, "01 Kick In", "SnTop", "Gitarre Solo", "Unheard Thing", "Häsenfüsschen", "Drum Crush", "VoxDlyThrow",
			"Квартет струнных", "BV Lo 1", "qwertzuiop")
	}
	for b.Loop() {
		Parse(names)
	}
}

// Two names that differ by a last letter l or r only are the sides of one; common practice, no source.
func TestSidesGluedToAnyWord(t *testing.T) {
	hints := Parse([]string{"ogl", "ogr", "xyzl 2", "xyzr 2", "barl", "snare"})
	for i, side := range []string{"L", "R", "L", "R", "", ""} {
		assert.Equal(t, side, hints[i].Side, i)
	}
	assert.Equal(t, hints[0].Stem, hints[1].Stem)
	assert.Equal(t, hints[2].Stem, hints[3].Stem)
}

// Four of anything are a quartet: of strings most often, but voices and saxophones have theirs (common practice, no source), so
// that the name leaves room for what is heard.
func TestAQuartetNeedNotBeOfStrings(t *testing.T) {
	h := Parse([]string{"Quartet 1.wav"})[0]
	role, _ := h.Best()
	assert.Equal(t, "strings", role)
	assert.Greater(t, h.Role["backing vocal"], 0.1)
	assert.Greater(t, h.Role["horns"], 0.1)
	assert.Less(t, Parse([]string{"String Quartet.wav"})[0].Role["backing vocal"], 0.02)
}

// A return through a room is the return of what leads, and no microphone in a drum room (common practice, no source).
func TestTheRoomOfALeadIsNoDrumRoom(t *testing.T) {
	names := []string{"Ret Lead Room.wav", "Kick.wav", "Snare.wav", "Lead.wav", "Bgv 1.wav", "Drum Room.wav"}
	h := Parse(names)
	assert.Equal(t, "return", h[0].Kind)
	assert.Less(t, h[0].Role["room"], 0.1)
	role, _ := h[5].Best()
	assert.Equal(t, "room", role)
}
