package printcheck

import (
	"io"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/features/wavfile"
	"foldout/testdata/song"
)

const testRate = 48000

// stereo is a piece of music as the chains of the tests handle it.
type stereo [2][]float64

var (
	mixOnce sync.Once
	mixed   stereo
)

// testMix is the mix of the invented song, each track at a place of its own between left and right.
func testMix(t *testing.T) stereo {
	t.Helper()
	mixOnce.Do(func() {
		dir := t.TempDir()
		song.Write(t, dir, nil)
		files, err := filepath.Glob(filepath.Join(dir, "*.wav"))
		require.NoError(t, err)
		for i, f := range files {
			x := load(t, f)
			for c := range mixed {
				if mixed[c] == nil {
					mixed[c] = make([]float64, len(x[0]))
				}
				angle := math.Pi / 4 * (1 + 0.7*math.Sin(float64(3*i+1)))
				gain := [2]float64{math.Cos(angle), math.Sin(angle)}[c]
				for k, v := range x[0] {
					mixed[c][k] += 0.3 * gain * v
				}
			}
		}
		peak := 0.0
		for c := range mixed {
			for _, v := range mixed[c] {
				peak = math.Max(peak, math.Abs(v))
			}
		}
		for c := range mixed {
			for k := range mixed[c] {
				mixed[c][k] *= 0.5 / peak
			}
		}
	})
	require.NotEmpty(t, mixed[0])
	return mixed.copy()
}

func (s stereo) copy() stereo {
	return stereo{append([]float64(nil), s[0]...), append([]float64(nil), s[1]...)}
}

func load(t *testing.T, path string) stereo {
	t.Helper()
	r, err := wavfile.Open(path)
	require.NoError(t, err)
	defer r.Close()
	planes := make([][]float64, r.Info().Channels)
	for c := range planes {
		planes[c] = make([]float64, r.Info().Frames)
	}
	_, err = r.ReadFloat64(planes)
	if err != io.EOF {
		require.NoError(t, err)
	}
	if len(planes) == 1 {
		return stereo{planes[0], planes[0]}
	}
	return stereo{planes[0], planes[1]}
}

func save(t *testing.T, path string, rate int, s stereo) string {
	t.Helper()
	return savePlanes(t, path, rate, wavfile.PCM24, [][]float64{s[0], s[1]})
}

func savePlanes(t *testing.T, path string, rate int, e wavfile.Encoding, planes [][]float64) string {
	t.Helper()
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: rate, Channels: len(planes), Encoding: e}, false)
	require.NoError(t, err)
	require.NoError(t, w.WriteFloat64(planes))
	require.NoError(t, w.Close())
	return path
}

// link is one thing a chain does.
type link func(stereo) stereo

func each(f func([]float64) []float64) link {
	return func(s stereo) stereo { return stereo{f(s[0]), f(s[1])} }
}

func gain(db float64) link {
	g := math.Pow(10, db/20)
	return each(func(x []float64) []float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = g * v
		}
		return y
	})
}

// late delays by any number of samples: phase turned in proportion to frequency.
func late(samples float64) link {
	return each(func(x []float64) []float64 {
		length := len(x) + int(math.Ceil(math.Abs(samples))) + 2048
		n := 1
		for n < length {
			n *= 2
		}
		t := fourier.NewFFT(n)
		padded := make([]float64, n)
		copy(padded, x)
		c := t.Coefficients(nil, padded)
		for k := range c {
			s, co := math.Sincos(-2 * math.Pi * float64(k) * samples / float64(n))
			c[k] *= complex(co/float64(n), s/float64(n))
		}
		c[n/2] = complex(real(c[n/2]), 0)
		return t.Sequence(nil, c)[:length]
	})
}

// tape runs at another speed: the print is too long by ppm. A sinc of 96 taps under a Hann window.
func tape(ppm float64) link {
	return each(func(x []float64) []float64 {
		const half = 48
		step := 1 / (1 + ppm*1e-6)
		y := make([]float64, int(float64(len(x))/step))
		for i := range y {
			p := float64(i) * step
			whole := int(p)
			f := p - float64(whole)
			sine := math.Sin(math.Pi*f) / math.Pi
			// The window's cosine turns on from tap to tap; computing each anew would be most of the work.
			turn := cmplx.Rect(1, -math.Pi/(half+1))
			window := cmplx.Rect(1, math.Pi*(f+half-1)/(half+1))
			for k := -half + 1; k <= half; k++ {
				j := whole + k
				if j >= 0 && j < len(x) {
					w := 1.0
					if d := f - float64(k); math.Abs(d) > 1e-9 {
						w = sine / d
						if k&1 != 0 {
							w = -w
						}
					}
					y[i] += x[j] * w * (0.5 + 0.5*real(window))
				}
				window *= turn
			}
		}
		return y
	})
}

// section is a biquad after the Audio EQ Cookbook (R. Bristow-Johnson).
type section struct{ b, a [3]float64 }

func peaking(hz, db, q float64) section {
	a := math.Pow(10, db/40)
	s, c := math.Sincos(2 * math.Pi * hz / testRate)
	alpha := s / (2 * q)
	return section{[3]float64{1 + alpha*a, -2 * c, 1 - alpha*a}, [3]float64{1 + alpha/a, -2 * c, 1 - alpha/a}}
}

func lowShelf(hz, db float64) section {
	a := math.Pow(10, db/40)
	s, c := math.Sincos(2 * math.Pi * hz / testRate)
	r := 2 * math.Sqrt(a) * s / 2 * math.Sqrt2
	return section{
		[3]float64{a * (a + 1 - (a-1)*c + r), 2 * a * (a - 1 - (a+1)*c), a * (a + 1 - (a-1)*c - r)},
		[3]float64{a + 1 + (a-1)*c + r, -2 * (a - 1 + (a+1)*c), a + 1 + (a-1)*c - r},
	}
}

func (f section) apply() link {
	return each(func(x []float64) []float64 {
		y := make([]float64, len(x))
		var s1, s2 float64
		for i, v := range x {
			o := (f.b[0]*v + s1) / f.a[0]
			s1 = f.b[1]*v - f.a[1]*o + s2
			s2 = f.b[2]*v - f.a[2]*o
			y[i] = o
		}
		return y
	})
}

// db is the level of the section's response at a frequency.
func (f section) db(hz float64) float64 {
	abs := func(p [3]float64) float64 {
		w := 2 * math.Pi * hz / testRate
		re := p[0] + p[1]*math.Cos(w) + p[2]*math.Cos(2*w)
		im := p[1]*math.Sin(w) + p[2]*math.Sin(2*w)
		return math.Hypot(re, im)
	}
	return 20 * math.Log10(abs(f.b)/abs(f.a))
}

func curved(f func(float64) float64) link {
	return each(func(x []float64) []float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = f(v)
		}
		return y
	})
}

// hiss adds white noise of an rms level.
func hiss(dbfs float64) link {
	r := rand.New(rand.NewPCG(7, 9))
	g := math.Pow(10, dbfs/20)
	return each(func(x []float64) []float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = v + g*r.NormFloat64()
		}
		return y
	})
}

// mains adds a sine of an rms level.
func mains(hz, dbfs float64) link {
	g := math.Sqrt2 * math.Pow(10, dbfs/20)
	return each(func(x []float64) []float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = v + g*math.Sin(2*math.Pi*hz*float64(i)/testRate)
		}
		return y
	})
}

// squeeze is a feed-forward compressor on both sides alike.
func squeeze(thresholdDB, ratio float64) link {
	return func(s stereo) stereo {
		out := stereo{make([]float64, len(s[0])), make([]float64, len(s[0]))}
		env := 0.0
		for i := range s[0] {
			v := math.Max(math.Abs(s[0][i]), math.Abs(s[1][i]))
			k := 1 / (0.1 * testRate)
			if v > env {
				k = 1 / (0.005 * testRate)
			}
			env += k * (v - env)
			over := math.Max(0, 20*math.Log10(env+1e-9)-thresholdDB)
			g := math.Pow(10, -over*(1-1/ratio)/20)
			out[0][i], out[1][i] = g*s[0][i], g*s[1][i]
		}
		return out
	}
}

func crossed(s stereo) stereo { return stereo{s[1], s[0]} }

// cut keeps frames from..to.
func cut(from, to int) link {
	return each(func(x []float64) []float64 { return x[from:to] })
}

// lose drops n frames at a place.
func lose(at, n int) link {
	return each(func(x []float64) []float64 { return append(append([]float64{}, x[:at]...), x[at+n:]...) })
}

// pause puts n silent frames in at a place.
func pause(at, n int) link {
	return each(func(x []float64) []float64 {
		return append(append(append([]float64{}, x[:at]...), make([]float64, n)...), x[at:]...)
	})
}

// through sends the test mix through a chain and compares the two.
func through(t *testing.T, links ...link) *Result {
	t.Helper()
	r, err := comparePrint(t, links...)
	require.NoError(t, err)
	return r
}

func comparePrint(t *testing.T, links ...link) (*Result, error) {
	t.Helper()
	mix, print := files(t, links...)
	return Compare(t.Context(), mix, print, Options{})
}

func files(t *testing.T, links ...link) (mix, print string) {
	t.Helper()
	dir := t.TempDir()
	m := testMix(t)
	mix = save(t, filepath.Join(dir, "mix.wav"), testRate, m)
	for _, l := range links {
		m = l(m)
	}
	return mix, save(t, filepath.Join(dir, "print.wav"), testRate, m)
}

func band1(t *testing.T, r *Result, hz float64) Band {
	t.Helper()
	for _, b := range r.Bands {
		if b.Hz == hz {
			return b
		}
	}
	t.Fatalf("no band at %g Hz", hz)
	return Band{}
}

func verdictOf(r *Result, claim string) string {
	for _, c := range r.Claims {
		if c.Claim == claim {
			return c.Verdict
		}
	}
	return "none"
}

// needs skips a test without an outside program; in CI it has to be there.
func needs(t *testing.T, found error, what string) {
	t.Helper()
	if found == nil {
		return
	}
	if os.Getenv("CI") == "true" {
		t.Fatal(what + " is missing")
	}
	t.Skip(what + " is missing")
}
