package demo

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// kit holds what each piece of the drum kit radiates, before any microphone.
type kit struct{ kick, snareTop, snareBottom, hat, rack, floor, crash, ride []float32 }

type hit struct{ beat, strength float64 }

// The drummer's part, in beats. Fills lead into the verse, the chorus and the end.
func drumPart() (kick, snare, ghost, hat, openHatAt, rack, floor, crashAt, rideAt []hit) {
	fill := func(from float64) bool { return from == 7 || from == 22 || from == 23 || from == 39 }
	for beat := 0.0; beat < ending; beat++ {
		bar := math.Mod(beat, 4)
		inChorus, onRide := beat >= chorus, beat >= chorus+8
		switch bar {
		case 0:
			kick = append(kick, hit{beat, 1})
		case 2:
			kick = append(kick, hit{beat, 0.9})
			if inChorus {
				kick = append(kick, hit{beat + 0.5, 0.85})
			}
		case 1, 3:
			if !fill(beat) {
				snare = append(snare, hit{beat, 1})
			}
		}
		if bar == 1 {
			kick = append(kick, hit{beat + 0.75, 0.75})
			ghost = append(ghost, hit{beat + 0.25, 0.2})
		}
		if bar == 2 {
			ghost = append(ghost, hit{beat + 0.75, 0.25})
		}
		if fill(beat) {
			snare = append(snare, hit{beat, 0.8}, hit{beat + 0.25, 0.65})
			rack = append(rack, hit{beat + 0.5, 0.9})
			floor = append(floor, hit{beat + 0.75, 0.95})
			if beat == 23 || beat == 39 {
				floor = append(floor, hit{beat + 0.5, 0.8})
				rack = append(rack, hit{beat + 0.25, 0.85})
			}
			continue
		}
		for _, e := range []float64{0, 0.5} {
			accent := 0.95 - 0.35*e
			if onRide {
				rideAt = append(rideAt, hit{beat + e, accent})
				continue
			}
			if e == 0.5 && (inChorus || bar == 3 && math.Mod(beat, 8) > 4) {
				openHatAt = append(openHatAt, hit{beat + e, 0.8})
				continue
			}
			hat = append(hat, hit{beat + e, accent})
		}
		if onRide && (bar == 1 || bar == 3) {
			hat = append(hat, hit{beat, 0.6}) // with the foot
		}
	}
	kick = append(kick, hit{ending, 1})
	floor = append(floor, hit{ending, 0.6}, hit{20, 0.7}, hit{20.5, 0.6}, hit{12.5, 0.5})
	rack = append(rack, hit{19.5, 0.75}, hit{11.5, 0.6}, hit{12, 0.7})
	crashAt = []hit{{0, 0.8}, {verse, 0.8}, {chorus, 1}, {chorus + 8, 0.9}, {ending, 1}}
	return
}

// playKit performs the part. Both hands and feet have their own small delays.
func playKit() *kit {
	r := newRand("drums")
	n := samples(lengthS)
	k := &kit{}
	kicks, snares, ghosts, hats, opens, racks, floors, crashes, rides := drumPart()
	lay := func(hits []hit, gain, late float64, sound func(strength float64) []float64) []float32 {
		out := make([]float32, n)
		slices.SortFunc(hits, func(a, b hit) int { return cmp.Compare(a.beat, b.beat) })
		for _, h := range hits {
			s := min(1, h.strength*(1+0.06*r.NormFloat64()))
			mixInto(out, sound(s), samples(seconds(h.beat)+late+0.003*r.NormFloat64()), gain)
		}
		return out
	}
	k.kick = lay(kicks, 1, 0, func(s float64) []float64 { return kickHit(s, r) })
	k.rack = lay(racks, 1.2, 0.002, func(s float64) []float64 { return tomHit(118, s, r) })
	k.floor = lay(floors, 0.9, 0.002, func(s float64) []float64 { return tomHit(79, s, r) })
	k.snareTop, k.snareBottom = make([]float32, n), make([]float32, n)
	for _, h := range append(snares, ghosts...) {
		top, bottom := snareHit(h.strength*(1+0.05*r.NormFloat64()), r)
		at := samples(seconds(h.beat) + 0.004 + 0.003*r.NormFloat64())
		mixInto(k.snareTop, top, at, 1)
		mixInto(k.snareBottom, bottom, at, 1)
	}
	k.hat = lay(hats, 1.6, 0, oneOf(6, func(s float64) []float64 { return closedHat.strike(0.35, s, r) }))
	mixInto(k.hat, lay(opens, 1.3, 0, oneOf(2, func(s float64) []float64 { return chokedHat(s, r) })), 0, 1)
	k.crash = lay(crashes, 0.55, 0, oneOf(2, func(s float64) []float64 { return crash.strike(3.5, s, r) }))
	k.ride = lay(rides, 0.4, 0, oneOf(6, func(s float64) []float64 { return ride.strike(1.8, s, r) }))
	return k
}

// oneOf makes a few strokes in advance and hands them out in turn: no two neighbours are alike.
func oneOf(n int, make func(strength float64) []float64) func(float64) []float64 {
	strokes := map[int][][]float64{}
	turn := 0
	return func(strength float64) []float64 {
		layer := int(strength * 3.99)
		if len(strokes[layer]) < n/2+1 {
			strokes[layer] = append(strokes[layer], make(strength))
		}
		turn++
		return strokes[layer][turn%len(strokes[layer])]
	}
}

// chokedHat is an open stroke that the foot closes on the next beat.
func chokedHat(strength float64, r *rand.Rand) []float64 {
	x := openHat.strike(0.5*beatS+0.05, strength, r)
	fade(x, 0, samples(0.04))
	return x
}

// kickHit is a large head struck by a felt beater: its pitch falls as the tension of the stroke relaxes; the beater's
// click lies at 2 to 5 kHz.
func kickHit(strength float64, r *rand.Rand) []float64 {
	x := make([]float64, samples(0.55))
	var p1, p2 float64
	click := noise(r, len(x))
	through(click, bandPass(3200, 0.8))
	for i := range x {
		t := float64(i) / rate
		hz := 57 + 70*strength*math.Exp(-t/0.009) + 9*math.Exp(-t/0.06)
		p1 += 2 * math.Pi * hz / rate
		p2 += 2 * math.Pi * hz * 1.72 / rate
		x[i] = strength*(0.9*math.Sin(p1)*math.Exp(-t/0.13)+0.22*math.Sin(p2)*math.Exp(-t/0.045)) +
			strength*strength*click[i]*(0.9*math.Exp(-t/0.0025)+0.12*math.Exp(-t/0.012))
	}
	ring(x, []mode{{195, 0.03, 0.08 * strength, 0}, {340, 0.02, 0.06 * strength, 0}, {4100, 0.004, 0.1 * strength * strength, 0}})
	fade(x, 12, len(x)/4)
	return x
}

// membrane lists the frequencies of an ideal circular membrane relative to the lowest: zeros of the Bessel functions
// J0, J1, J2 ... over 2.405 (Rayleigh). Air and shell move the lower ones closer together.
var membrane = []float64{1, 1.593, 2.136, 2.295, 2.653, 2.917, 3.155, 3.5, 3.598, 3.647, 4.059, 4.132}

func tomHit(hz, strength float64, r *rand.Rand) []float64 {
	x := make([]float64, samples(1.1))
	var modes []mode
	for i, ratio := range membrane[1:] {
		modes = append(modes, mode{hz * ratio * between(r, 0.99, 1.01), 0.28 / ratio, strength * 0.28 / math.Pow(float64(i+1), 0.8) * between(r, 0.6, 1.2), 0})
	}
	ring(x, modes)
	var p float64
	stick := noise(r, samples(0.03))
	through(stick, highPass(1500, 0.7), lowPass(7000, 0.7))
	for i := range x {
		t := float64(i) / rate
		p += 2 * math.Pi * hz * (1 + 0.12*strength*math.Exp(-t/0.05)) / rate
		x[i] += 0.7 * strength * math.Sin(p) * math.Exp(-t/0.33)
		if i < len(stick) {
			x[i] += 0.35 * strength * strength * stick[i] * math.Exp(-t/0.004)
		}
	}
	fade(x, 10, len(x)/4)
	return x
}

// snareHit returns what the upper head and the lower head with its wires radiate. The wires are thrown off the head
// and fall back, so that their noise starts late and outlasts the head.
func snareHit(strength float64, r *rand.Rand) (top, bottom []float64) {
	n := samples(0.45)
	head := make([]float64, n)
	var modes []mode
	for i, ratio := range membrane {
		modes = append(modes, mode{188 * ratio * between(r, 0.985, 1.015), 0.075 / math.Pow(ratio, 0.6), strength * 0.7 / math.Pow(float64(i+1), 0.6), between(r, 0, 0.5)})
	}
	modes = append(modes, mode{331, 0.06, 0.3 * strength, 0}, mode{1080, 0.02, 0.15 * strength, 0})
	ring(head, modes)
	wires, crack := noise(r, n), noise(r, n)
	through(wires, highPass(1400, 0.8), bell(5200, 4, 0.8), lowPass(9500, 0.7))
	through(crack, bandPass(3400, 0.7))
	top, bottom = make([]float64, n), make([]float64, n)
	var rattle float64
	for i := range head {
		t := float64(i) / rate
		if i%48 == 0 {
			rattle = between(r, 0.6, 1.4)
		}
		rise := 1 - math.Exp(-t/0.003)
		w := wires[i] * rattle * rise * (0.5*math.Exp(-t/0.05) + 0.28*math.Exp(-t/0.13)) * math.Sqrt(strength)
		top[i] = 0.8*head[i] + 0.42*w + 0.4*strength*strength*crack[i]*math.Exp(-t/0.006)
		bottom[i] = -0.4*head[i] + 0.95*w // the lower head moves away when the upper moves in
	}
	fade(top, 6, n/4)
	fade(bottom, 20, n/4)
	return top, bottom
}
