package dynamics

// fullScale is the largest positive code of 16 bits: what a 16-bit converter gives when it clips.
const fullScale = 32767.0 / 32768

// clipRun is the number of equal samples that make a run.
const clipRun = 3

// resolveCells is how many of the cells with extremes are searched for the quantum in full: 1 s.
const resolveCells = 1000

// clipper counts clipped runs of one channel. A run is clipRun or more samples in a row that are at or beyond full
// scale on one side, or that all equal the channel's extreme value on that side while the waveform reaches or leaves
// them with a jump: a file clipped first and turned down afterwards. Without the jump a flat top is the rounded crest
// of a slow wave: a parabola that stays within one quantum q for n samples has fallen by q ((n+1)/(n-1))^2 at most one
// sample further. The quantum is taken from the smallest difference seen between neighbours; until a small one has been
// seen, a sixteenth of the extreme stands in for the jump.
type clipper struct {
	sides   [2]clipSide // positive and negative
	last    float32
	quantum float32 // 0 until known
	started bool

	resolved int // cells searched for the quantum
}

type clipSide struct {
	extreme float32
	runs    int     // runs at the present extreme
	length  int     // of the run in progress at the extreme
	jump    float32 // into the run in progress

	fullRuns   int
	fullLength int
}

func (c *clipper) write(x []float32, high, low float32) {
	if !c.started {
		c.last, c.started = x[0], true
	}
	up, down := c.sides[0].wants(high), c.sides[1].wants(-low)
	if (up || down) && c.resolved < resolveCells {
		c.resolved++
		c.resolve(x)
	} else {
		c.resolve(x[:1])
	}
	if up {
		c.sides[0].scan(x, 1, c.last, c.quantum)
	}
	if down {
		c.sides[1].scan(x, -1, -c.last, c.quantum)
	}
	c.last = x[len(x)-1]
}

// resolve looks for a smaller quantum.
func (c *clipper) resolve(x []float32) {
	last := c.last
	for _, v := range x {
		if d := max(v-last, last-v); d > 0 && (c.quantum == 0 || d < c.quantum) {
			c.quantum = d
		}
		last = v
	}
}

// wants tells whether a cell with this highest sample can change the count.
func (s *clipSide) wants(high float32) bool {
	return s.length > 0 || s.fullLength > 0 || high > 0 && high >= min(s.extreme, fullScale)
}

func (s *clipSide) scan(x []float32, sign, last, quantum float32) {
	for _, v := range x {
		v *= sign
		if v < s.extreme && v < fullScale && s.length == 0 && s.fullLength == 0 {
			last = v
			continue
		}
		if v >= fullScale {
			s.fullLength++
			if s.fullLength == clipRun {
				s.fullRuns++
			}
		} else {
			s.fullLength = 0
		}
		switch {
		case v > s.extreme:
			s.extreme, s.runs, s.length, s.jump = v, 0, 1, v-last
		case v == s.extreme && v > 0:
			if s.length == 0 {
				s.jump = v - last
			}
			s.length++
		case s.length > 0:
			s.close(v-last, quantum)
		}
		last = v
	}
}

// close ends a run at the extreme; step is the (negative) difference that ended it.
func (s *clipSide) close(step, quantum float32) {
	if s.length >= clipRun && max(s.jump, -step) > s.smooth(quantum) {
		s.runs++
	}
	s.length = 0
}

// smooth is the largest step beside a run that can belong to a rounded crest; one more quantum for the rounding.
func (s *clipSide) smooth(quantum float32) float32 {
	least := s.extreme / 16
	if quantum == 0 {
		return least
	}
	n := float32(s.length)
	r := (n + 1) / (n - 1)
	return min(least, quantum*(r*r+1))
}

// count gives the runs of both sides, counting a run still in progress.
func (c *clipper) count() int {
	n := 0
	for i := range c.sides {
		s := c.sides[i]
		if s.length > 0 {
			s.close(0, c.quantum)
		}
		if s.extreme >= fullScale {
			n += s.fullRuns
		} else {
			n += s.runs
		}
	}
	return n
}
