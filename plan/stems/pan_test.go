package stems

import (
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/testdata/underrace"
)

// At -3 dB the sine and cosine law keeps the power, at -6 dB the sum of both sides; every law reaches its centre and full
// level at the sides (identities of the sine and cosine).
func TestPanLaws(t *testing.T) {
	for _, centre := range []float64{math.Sqrt(0.5), 0.5, math.Pow(10, -4.5/20), 1} {
		assert.Equal(t, [2]float64{centre, centre}, PanSides(0, centre))
		assert.Equal(t, [2]float64{1, 0}, PanSides(-1, min(centre, 0.9)))
		last := -1.0
		for pan := -1.0; pan <= 1; pan += 0.05 {
			s, mirror := PanSides(pan, centre), PanSides(-pan, centre)
			assert.InDelta(t, s[0], mirror[1], 1e-9)
			assert.GreaterOrEqual(t, s[1], last-1e-9, "the right grows from left to right")
			last = s[1]
			switch centre {
			case math.Sqrt(0.5):
				assert.InDelta(t, 1, s[0]*s[0]+s[1]*s[1], 1e-9)
			case 0.5:
				assert.InDelta(t, 1, s[0]+s[1], 1e-9)
			}
		}
	}
	full := PanSides(-1, 1)
	assert.InDelta(t, 1, full[0], 1e-12)
	assert.InDelta(t, 0, full[1], 1e-12)
}

// sox and ffmpeg place the same tracks by factors worked out by hand: a mono track at -0.5 lies at 22.5 degrees, cos and sin of
// which are 0.923880 and 0.382683; 6.0206 dB are a factor of 2.
func TestPannedTracksAgreeWithOtherPrograms(t *testing.T) {
	underrace.Skip(t)
	dir := t.TempDir()
	const frames = rate + 77
	put(t, dir,
		track{file: "a.wav", planes: noise(1, 1, frames, 0.2), encoding: wavfile.PCM24},
		track{file: "b.wav", planes: noise(2, 1, frames, 0.2), encoding: wavfile.PCM24},
		track{file: "c.wav", planes: noise(3, 2, frames, 0.2), encoding: wavfile.PCM24})
	doc := sheetOf(dir, []string{"a.wav", "b.wav", "c.wav"})
	pan := -0.5
	doc.Pairs[0].Tracks[0].Pan = &pan
	doc.Pairs[0].Tracks[1].GainDB = -6.020599913279624
	doc.Pairs[0].Tracks[2].GainDB = -6.020599913279624
	s := open(t, doc, Options{})
	w := write(t, s, WriteOptions{Float: true})
	ours, _ := load(t, w.Stems[0].Path)
	a, b, c := filepath.Join(dir, "a.wav"), filepath.Join(dir, "b.wav"), filepath.Join(dir, "c.wav")
	half := fmt.Sprint(0.5 * math.Sqrt(0.5))
	for _, other := range []struct {
		name string
		args []string
	}{
		{"sox", []string{"-D", "-m", "-v", "1", "|sox -D " + a + " -e float -b 32 -p remix 1v0.92387953 1v0.38268343", "-v", "1", "|sox -D " + b + " -e float -b 32 -p remix 1v" + half + " 1v" + half, "-v", "0.5", c, "-e", "float", "-b", "32"}},
		{"ffmpeg", []string{"-loglevel", "error", "-i", a, "-i", b, "-i", c, "-filter_complex",
			"[0:a]pan=stereo|c0=0.92387953*c0|c1=0.38268343*c0[x];[1:a]pan=stereo|c0=" + half + "*c0|c1=" + half + "*c0[y];[2:a]volume=0.5[z];[x][y][z]amix=inputs=3:normalize=0:duration=longest", "-c:a", "pcm_f32le"}},
	} {
		t.Run(other.name, func(t *testing.T) {
			out := filepath.Join(t.TempDir(), "mix.wav")
			text, err := exec.CommandContext(t.Context(), tool(t, other.name), append(other.args, out)...).CombinedOutput()
			require.NoError(t, err, string(text))
			theirs, info := load(t, out)
			require.EqualValues(t, frames, info.Frames)
			worst := 0.0
			for side := range ours {
				for i, v := range ours[side] {
					worst = max(worst, math.Abs(v-theirs[side][i]))
				}
			}
			assert.LessOrEqual(t, worst, 0x1p-21, "the programs round on the way")
			null, err := s.Against(t.Context(), w, out, nil)
			require.NoError(t, err)
			assert.True(t, null.Nulls)
			assert.Less(t, float64(null.ResidualRMSDBFS), -130.0)
		})
	}
}

func TestPansThatCannotBe(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "m.wav", planes: noise(1, 1, 1000, 0.2)}, track{file: "s.wav", planes: noise(2, 2, 1000, 0.2)})
	for want, set := range map[string]func(pan *float64) (track int, gain float64){
		"m.wav: a pan of 1.5 on the sheet; want -1 (left) to 1 (right)": func(p *float64) (int, float64) { *p = 1.5; return 0, 0 },
		"m.wav: a pan of NaN on the sheet":                              func(p *float64) (int, float64) { *p = math.NaN(); return 0, 0 },
		"s.wav: the sheet gives it a pan, but it is no mono track":      func(p *float64) (int, float64) { *p = 0.5; return 1, 0 },
		"m.wav: a gain of 200 dB on the sheet; want -60 to 60":          func(p *float64) (int, float64) { return 0, 200 },
	} {
		doc := sheetOf(dir, []string{"m.wav", "s.wav"})
		pan := 0.0
		n, gain := set(&pan)
		doc.Pairs[0].Tracks[n].Pan, doc.Pairs[0].Tracks[n].GainDB = &pan, gain
		_, err := Open(doc, Options{})
		assert.ErrorContains(t, err, want)
	}
	doc, centre := sheetOf(dir, []string{"m.wav", "s.wav"}), 0.0
	doc.Pairs[0].Tracks[1].Pan = &centre
	open(t, doc, Options{}) // the centre says nothing of a stereo track
}

// A gain leaves the halves of a split source on their sides; a pan goes before the side.
func TestSidesWithGainAndPan(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "OH L.wav", planes: [][]float64{{0.5, 0.5}}}, track{file: "OH R.wav", planes: [][]float64{{0.25, 0.25}}})
	doc := sheetOf(dir, []string{"OH L.wav", "OH R.wav"})
	doc.Pairs[0].Tracks[0].GainDB = -6.020599913279624
	right := 1.0
	doc.Pairs[0].Tracks[1].Pan = &right
	s := open(t, doc, Options{})
	planes, _ := load(t, write(t, s, WriteOptions{Float: true}).Stems[0].Path)
	assert.InDelta(t, 0.25, planes[0][0], 1e-4) // the tracks are of 16 bits
	assert.InDelta(t, 0.25, planes[1][0], 1e-4)
}

func TestWhatPCMCannotHoldBecomesFloat(t *testing.T) {
	dir := t.TempDir()
	a := noise(1, 2, rate, 0.01)
	a[0][300] = 0.75
	put(t, dir, track{file: "a.wav", planes: a, encoding: wavfile.PCM24}, track{file: "b.wav", planes: a, encoding: wavfile.PCM24}, track{file: "c.wav", planes: noise(2, 2, rate, 0.1), encoding: wavfile.PCM24})
	s := open(t, sheetOf(dir, []string{"a.wav", "b.wav"}, []string{"c.wav"}), Options{})
	w := write(t, s, WriteOptions{Auto: true})
	assert.Equal(t, encodingFloat, w.Encoding)
	assert.Contains(t, w.Notes[0], "24 bits cannot hold every sum (Pair 1 Drums.wav up to +3.52 dBFS), so all files are 32-bit float and nothing is clipped; --gain -3.6 or --trim makes them fit")
	planes, _ := load(t, w.Stems[0].Path)
	assert.Equal(t, 1.5, planes[0][300])
	w = write(t, s, WriteOptions{Auto: true, GainDB: -3.6})
	assert.Equal(t, encodingPCM, w.Encoding)
}

func TestSixteenBitsAreDithered(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: noise(1, 2, 4*rate, 0.2), encoding: wavfile.PCM24})
	s := open(t, sheetOf(dir, []string{"a.wav"}), Options{})
	w := write(t, s, WriteOptions{Bits: 16})
	assert.Equal(t, "16-bit PCM", w.Encoding)
	assert.True(t, w.Stems[0].Dithered)
	planes, info := load(t, w.Stems[0].Path)
	assert.Equal(t, 16, info.BitDepth)
	exact, _ := load(t, filepath.Join(dir, "a.wav"))
	var power float64
	for i, v := range planes[0] {
		power += (v - exact[0][i]) * (v - exact[0][i])
	}
	// rounding adds a twelfth of a squared step, triangular dither two more (Lipshitz, Wannamaker and Vanderkooy, JAES 40, 1992)
	assert.InDelta(t, 10*math.Log10(3.0/12*math.Pow(2, -30)), 10*math.Log10(power/float64(len(planes[0]))), 0.1)
	null, err := s.Against(t.Context(), w, filepath.Join(dir, "a.wav"), nil)
	require.NoError(t, err)
	assert.True(t, null.Nulls)

	put(t, dir, track{file: "d.wav", planes: noise(4, 2, 100, 0.2), encoding: wavfile.PCM16})
	w = write(t, open(t, sheetOf(dir, []string{"d.wav"}), Options{}), WriteOptions{Bits: 16})
	assert.False(t, w.Stems[0].Dithered, "nothing to round")
}

func TestAPairOfOneBusIsWrittenOnce(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: noise(1, 2, 100, 0.2)}, track{file: "a2.wav", planes: noise(2, 2, 100, 0.2)}, track{file: "b.wav", planes: noise(3, 2, 100, 0.2)})
	w := write(t, open(t, sheetOf(dir, []string{"a.wav", "a2.wav"}, []string{"a.wav", "b.wav"}), Options{Apart: true}), WriteOptions{Buses: true})
	var names []string
	for _, s := range w.Stems {
		names = append(names, filepath.Base(s.Path))
	}
	assert.Equal(t, []string{"Pair 1 Drums.wav", "Pair 2 Bass.wav"}, []string{names[0], names[1]})
	assert.Len(t, names, 4, "the second pair has two buses: %v", names)
	assert.Contains(t, strings.Join(w.Notes, "\n"), "pair 1 (Drums) is one bus: one file is both")
}

// Pairs at gains of their own: undone, they add up to the mix.
func TestGainsOfPairsAreUndoneAgainstTheMix(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: noise(1, 2, rate, 0.2), encoding: wavfile.PCM24}, track{file: "b.wav", planes: noise(2, 2, rate, 0.2), encoding: wavfile.PCM24})
	s := open(t, sheetOf(dir, []string{"a.wav"}, []string{"b.wav"}), Options{})
	whole := write(t, open(t, sheetOf(dir, []string{"a.wav", "b.wav"}), Options{}), WriteOptions{Float: true})
	w := write(t, s, WriteOptions{Float: true, PairDB: map[int]float64{1: -6, 2: -1.5}})
	assert.Equal(t, []float64{-6, -1.5}, []float64{w.Stems[0].GainDB, w.Stems[1].GainDB})
	null, err := s.Against(t.Context(), w, whole.Stems[0].Path, nil)
	require.NoError(t, err)
	assert.True(t, null.Nulls)
}
