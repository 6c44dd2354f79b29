package demo

import "math"

// place is a point in metres: x to the audience's right, y towards the audience, z up; the drummer sits at 0, -0.4.
type place struct{ x, y, z float64 }

func (a place) minus(b place) place           { return place{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a place) plus(dx, dy, dz float64) place { return place{a.x + dx, a.y + dy, a.z + dz} }
func (a place) dot(b place) float64           { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a place) length() float64               { return math.Sqrt(a.dot(a)) }

const soundMetresPerS = 343.0

// Where the pieces of the kit stand.
var (
	kickAt  = place{0, 0.45, 0.28}
	snareAt = place{0.28, 0.05, 0.62}
	hatAt   = place{0.62, 0.05, 0.92}
	rackAt  = place{0.12, 0.35, 0.85}
	floorAt = place{-0.52, 0.0, 0.58}
	crashAt = place{0.48, 0.55, 1.25}
	rideAt  = place{-0.55, 0.42, 1.05}
)

// source is one radiating part of the kit.
type source struct {
	at     place
	sound  []float32
	inside bool // within a shell: reaches distant microphones weakly and dull
}

func (k *kit) sources() []source {
	return []source{
		{kickAt, k.kick, true}, {snareAt, k.snareTop, false}, {snareAt.plus(0, 0, -0.15), k.snareBottom, false}, {hatAt, k.hat, false},
		{rackAt, k.rack, false}, {floorAt, k.floor, false}, {crashAt, k.crash, false}, {rideAt, k.ride, false},
	}
}

// microphone stands at a place, aimed at a point.
type microphone struct {
	at, aim place
	shell   bool    // inside the kick: everything else has to pass its head
	pattern float64 // 0.5 cardioid, 0 omnidirectional
}

// hear sums all pieces as they arrive: weaker with distance, later, and duller from the side, the reason why bleed
// sounds the way it does.
func (m microphone) hear(sources []source) []float64 {
	out := make([]float64, samples(lengthS))
	for _, s := range sources {
		path := s.at.minus(m.at)
		d := math.Max(0.04, path.length())
		aim := m.aim.minus(m.at)
		facing := aim.dot(path) / (aim.length() * path.length())
		gain := math.Max(1-m.pattern+m.pattern*facing, 0.06) / d // no null is perfect
		cut := 18000 * math.Exp2(-1.3*(1-facing)*m.pattern*2) / (1 + 0.06*d)
		if m.shell && d > 0.15 {
			gain, cut = gain*0.2, math.Min(cut, 2500)
		}
		if s.inside && d > 0.2 {
			gain, cut = gain*0.5, math.Min(cut, 2800)
		}
		arrive(out, s.sound, d/soundMetresPerS*rate, gain, cut)
	}
	return out
}

// record is what reaches the recorder: an engineer sets the microphone amplifier so that the hardest strokes just
// saturate it.
func (m microphone) record(sources []source) []float64 {
	x := m.hear(sources)
	scale(x, 1.5/peakOf(x))
	softClip(x, 1, 0)
	return x
}

// arrive adds a delayed, filtered copy of a sound. The fraction of the delay is interpolated linearly.
func arrive(out []float64, sound []float32, delay, gain, cutHz float64) {
	whole := int(delay)
	f := delay - float64(whole)
	c := math.Exp(-2 * math.Pi * cutHz / rate)
	var last, y float64
	for i := whole; i < len(out); i++ {
		v := float64(sound[i-whole])
		y = c*y + (1-c)*((1-f)*v+f*last)
		last = v
		out[i] += gain * y
	}
}

// The microphones of the session.
var (
	kickIn   = microphone{kickAt.plus(0, 0, 0.05), kickAt, true, 0.5}
	snareUp  = microphone{snareAt.plus(0.03, 0.07, 0.06), snareAt, false, 0.5}
	snareLow = microphone{snareAt.plus(0, 0.04, -0.24), snareAt.plus(0, 0, -0.15), false, 0.5}
	hatMic   = microphone{hatAt.plus(0.03, 0.02, 0.08), hatAt, false, 0.5}
	rackMic  = microphone{rackAt.plus(-0.04, 0.09, 0.07), rackAt, false, 0.5}
	floorMic = microphone{floorAt.plus(-0.06, 0.08, 0.08), floorAt, false, 0.5}
	overL    = microphone{place{-0.65, 0.25, 1.75}, place{-0.45, 0.2, 0.8}, false, 0.5}
	overR    = microphone{place{0.7, 0.25, 1.75}, place{0.45, 0.2, 0.8}, false, 0.5}
	roomL    = microphone{place{-1.2, 3.6, 1.6}, place{0, 0, 0.8}, false, 0.2}
	roomR    = microphone{place{1.2, 3.6, 1.6}, place{0, 0, 0.8}, false, 0.2}
)

// room is a distant pair: the direct sound and much more of the walls.
func room(sources []source) [][]float64 {
	var out [][]float64
	for i, m := range []microphone{roomL, roomR} {
		x := m.hear(sources)
		wet := convolve(x, space([]string{"room left", "room right"}[i], 0.012, 0.75, 6500))
		mixInto(x, wet, 0, 2.2)
		out = append(out, x)
	}
	return out
}

// panned is a signal with its place from left, 0, to right, 1.
type panned struct {
	sound []float64
	pan   float64
}

// parallel is the kit through a compressor that is driven far too hard, to be mixed in under the rest.
func parallel(kit []panned) [][]float64 {
	left, right := make([]float64, samples(lengthS)), make([]float64, samples(lengthS))
	for _, p := range kit {
		gain := 0.7 / peakOf(p.sound)
		mixInto(left, p.sound, 0, gain*math.Cos(math.Pi/2*p.pan))
		mixInto(right, p.sound, 0, gain*math.Sin(math.Pi/2*p.pan))
	}
	compress(-30, 10, 0.0004, 0.1, left, right)
	peak := peakOf(left, right)
	for _, x := range [][]float64{left, right} {
		scale(x, 3/peak)
		softClip(x, 1, 0)
		through(x, highPass(30, 0.7))
	}
	return [][]float64{left, right}
}
