package dynamics

// fullScale is the largest positive code of 16 bits: what a 16-bit converter gives when it clips.
const fullScale = 32767.0 / 32768

// clipRun is the number of equal samples that make a run.
const clipRun = 3

// clipper counts clipped runs of one channel. A run is clipRun or more samples in a row that are at or beyond full
// scale on one side, or that all equal the channel's extreme value on that side while the waveform reaches or leaves
// them with a jump: a file clipped first and turned down afterwards. Without the jump a flat top is the rounded crest
// of a slow wave: near its crest a parabola that stays within one quantum for 3 samples falls by at most 4 quanta at the
// next. The quantum is taken from the smallest difference seen between neighbours.
type clipper struct {
	sides   [2]clipSide // positive and negative
	last    float32
	quantum float32 // 0 until known
	started bool
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
	if d := max(x[0]-c.last, c.last-x[0]); d > 0 && (c.quantum == 0 || d < c.quantum) {
		c.quantum = d
	}
	if c.sides[0].wants(high) {
		c.sides[0].scan(x, 1, c.last, c.quantum)
	}
	if c.sides[1].wants(-low) {
		c.sides[1].scan(x, -1, -c.last, c.quantum)
	}
	c.last = x[len(x)-1]
}

// wants tells whether a cell with this highest sample can change the count.
func (s *clipSide) wants(high float32) bool {
	return s.length > 0 || s.fullLength > 0 || high > 0 && high >= min(s.extreme, fullScale)
}

func (s *clipSide) scan(x []float32, sign, last, quantum float32) {
	for _, v := range x {
		v *= sign
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
	smooth := s.extreme / 16 // a crest this coarse is only 64 quanta high
	if quantum > 0 {
		smooth = min(smooth, 4*quantum)
	}
	if s.length >= clipRun && max(s.jump, -step) > smooth {
		s.runs++
	}
	s.length = 0
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
