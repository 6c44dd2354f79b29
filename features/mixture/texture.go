package mixture

import "math"

// Texture describes how the bands of one track move together: a single instrument moves as one, a whole piece of music does not.
type Texture struct {
	Parts    float64 // effective number of independent movements among the bands, 1..24
	Steady   float64 // median over bands of the standard deviation of the level over time, dB
	Breadth  float64 // bands within 30 dB of the loudest, median over time, 0..24
	Sounding float64 // share of steps within 40 dB of the loudest
	Varies   float64 // standard deviation of the whole level over the sounding steps, dB
	Loud     float64 // share of steps within 20 dB of the loudest, which the noise floor of a microphone is not
	Held     float64 // as Steady, over the steps within 3 dB of the loudest, dB; enormous where these are fewer than heldSteps
}

// heldSteps is the number of steps from which on their spread says something (chosen).
const heldSteps = 8

// Texture looks at the envelope of track t.
func (g *Grid) Texture(t int) Texture {
	if g.textures[t] == nil {
		x := g.look(t)
		g.textures[t] = &x
	}
	return *g.textures[t]
}

func (g *Grid) look(t int) Texture {
	p := g.power[t]
	var top float64
	total := make([]float64, g.steps)
	for s := range g.steps {
		total[s] = sum(p[s*bands : (s+1)*bands])
		top = max(top, total[s])
	}
	var steps []int
	for s, v := range total {
		if v > top*1e-4 {
			steps = append(steps, s)
		}
	}
	loud, full := 0, map[int]bool{}
	for s, v := range total {
		if v > top*1e-2 {
			loud++
		}
		if v > top*0.5 {
			full[s] = true
		}
	}
	x := Texture{Sounding: float64(len(steps)) / max(1, float64(g.steps)), Loud: float64(loud) / max(1, float64(g.steps)), Held: math.MaxFloat64}
	if len(steps) < 4 {
		return x
	}
	level := make([][]float64, bands)
	var whole []float64
	var wide []float64
	for _, s := range steps {
		whole = append(whole, 10*math.Log10(total[s]))
		n := 0.0
		var loud float64
		for b := range bands {
			loud = max(loud, p[s*bands+b])
		}
		for b := range bands {
			v := max(p[s*bands+b], top*1e-7)
			level[b] = append(level[b], 10*math.Log10(v))
			if p[s*bands+b] > loud*1e-3 {
				n++
			}
		}
		wide = append(wide, n)
	}
	x.Breadth, x.Varies = median(wide), deviation(whole)
	var dev []float64
	for b := range bands {
		dev = append(dev, deviation(level[b]))
	}
	x.Steady = median(dev)
	if len(full) >= heldSteps {
		for b := range bands {
			var held []float64
			for n, s := range steps {
				if full[s] {
					held = append(held, level[b][n])
				}
			}
			dev[b] = deviation(held)
		}
		x.Held = median(dev)
	}
	x.Parts = participation(level)
	return x
}

// participation is the participation ratio of the correlation matrix of the rows, (sum l)^2 / sum l^2 over its
// eigenvalues l: trace squared over the squared Frobenius norm.
func participation(rows [][]float64) float64 {
	var z [][]float64
	for _, r := range rows {
		m, d := mean(r), deviation(r)
		if d < 0.5 {
			continue
		}
		v := make([]float64, len(r))
		for i := range r {
			v[i] = (r[i] - m) / d
		}
		z = append(z, v)
	}
	if len(z) == 0 {
		return 1
	}
	var q float64
	for i := range z {
		for j := range z {
			var c float64
			for k := range z[i] {
				c += z[i][k] * z[j][k]
			}
			c /= float64(len(z[i]))
			q += c * c
		}
	}
	return float64(len(z)) * float64(len(z)) / q
}
