package changes

import (
	"errors"
	"io"

	"foldout/features/spectrum"
	"foldout/features/timbre"
	"foldout/features/wavfile"
	"foldout/plan/ears"
	"foldout/testdata/rolemodel/lab"
)

// Vector measures planes of samples as the program does.
func Vector(planes [][]float32, rate int) []float32 {
	m := timbre.New(rate, len(planes))
	s := spectrum.NewStream(rate, len(planes), m)
	s.Write(planes)
	s.Close()
	m.Write(planes)
	return m.Vector()
}

// Family is the family that the ears hear in a vector, what a fold never cuts, with its probability. Lead and backing voices count as
// one, since the sound of one track hardly tells them apart.
func Family(vector []float32) (best string, probability float64) {
	sum := map[string]float64{}
	for i, p := range ears.Probabilities(vector) {
		sum[FamilyOf(ears.Roles[i])] += p
	}
	for f, p := range sum {
		if best == "" || p > sum[best] || p == sum[best] && f < best {
			best = f
		}
	}
	return best, sum[best]
}

// FamilyOf is the family of a role, "voices" for either kind of voice.
func FamilyOf(role string) string {
	f := lab.Families[lab.FamilyOf(role)]
	if f == "lead" || f == "bgv" {
		return "voices"
	}
	return f
}

// ReadWAV returns a whole file as planes.
func ReadWAV(path string) (planes [][]float32, rate int, err error) {
	r, err := wavfile.Open(path)
	if err != nil {
		return nil, 0, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	info := r.Info()
	planes = make([][]float32, info.Channels)
	for c := range planes {
		planes[c] = make([]float32, info.Frames)
	}
	rest := make([][]float32, len(planes))
	for at := 0; ; {
		for c := range planes {
			rest[c] = planes[c][at:]
		}
		n, err := r.Read(rest)
		at += n
		if errors.Is(err, io.EOF) || at == int(info.Frames) {
			return planes, info.SampleRateHz, nil
		}
		if err != nil {
			return nil, 0, err
		}
	}
}
