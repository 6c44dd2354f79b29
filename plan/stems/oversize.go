package stems

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"foldout/features"
)

// OversError says that 24 bits cannot hold a sum: where, which tracks, and what would help.
type OversError struct {
	RateHz  int
	Bits    int
	GainDB  float64 // that was applied to all pairs
	Fits    float64 // gain in dB that would fit, for all pairs alike
	Clipped []Clipped
}

// Clipped is one stem that does not fit.
type Clipped struct {
	Stem  Stem
	Overs *Overs
}

// shownOvers and shownCauses keep the message short.
const (
	shownOvers  = 3
	shownCauses = 3
)

func (e *OversError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "nothing written: %d of the stems would clip in %d bits", len(e.Clipped), e.Bits)
	for _, c := range e.Clipped {
		fmt.Fprintf(&b, "\n  %s: up to %+.2f dBFS, beyond full scale in %s", filepath.Base(c.Stem.Path), float64(c.Stem.PeakDBFS), c.Overs.Extent(e.RateHz))
		for _, o := range c.Overs.List[:min(shownOvers, len(c.Overs.List))] {
			fmt.Fprintf(&b, "\n    %s  %+.2f dBFS  %s", clock(o.Frame, e.RateHz), 20*math.Log10(o.Peak)+c.Stem.GainDB, o.blameText())
		}
	}
	fmt.Fprintf(&b, "\ngive --gain %.1f to turn all pairs down alike, which keeps the balance, or --bits float to keep everything", e.Fits)
	return b.String()
}

// note says in one sentence why the files became float.
func (e *OversError) note(bits int) string {
	var names []string
	for _, c := range e.Clipped[:min(shownOvers, len(e.Clipped))] {
		names = append(names, fmt.Sprintf("%s up to %+.2f dBFS", filepath.Base(c.Stem.Path), float64(c.Stem.PeakDBFS)))
	}
	if rest := len(e.Clipped) - len(names); rest > 0 {
		names = append(names, fmt.Sprintf("and %d more", rest))
	}
	return fmt.Sprintf("%d bits cannot hold every sum (%s), so all files are 32-bit float and nothing is clipped; --gain %.1f or --trim makes them fit", bits, strings.Join(names, ", "), e.Fits)
}

// blameText names the tracks that cause an over.
func (o *Over) blameText() string {
	var parts []string
	for _, c := range o.Causes[:min(shownCauses, len(o.Causes))] {
		parts = append(parts, fmt.Sprintf("%s %.0f %%", c.File, 100*c.Share))
	}
	return strings.Join(parts, ", ")
}

// judge fills in the peaks and refuses what would clip.
func (s *Session) judge(jobs []*job, opt WriteOptions) error {
	e := &OversError{RateHz: s.RateHz, Bits: opt.Bits, GainDB: opt.GainDB}
	highest := 0.0
	for _, j := range jobs {
		for _, f := range j.files {
			f.overs.Done()
			f.stem.PeakDBFS = features.DB(20*math.Log10(f.overs.Peak) + f.stem.GainDB)
			highest = max(highest, f.overs.Peak*math.Pow(10, opt.PairDB[f.stem.Pair]/20))
			if f.overs.Stretches > 0 {
				if err := f.mix.Blame(f.overs.List); err != nil {
					return err
				}
				e.Clipped = append(e.Clipped, Clipped{Stem: f.stem, Overs: f.overs})
			} else if n := f.writer.Clipped(); n > 0 {
				return fmt.Errorf("%s: %d samples were clipped although none was beyond full scale; this must not happen, nothing is written", f.stem.Path, n)
			}
		}
	}
	if len(e.Clipped) == 0 {
		return nil
	}
	margin := 1e-5 // dB: room for a step or two of dither
	if opt.Bits == 16 {
		margin = 1e-3
	}
	e.Fits = math.Floor((-20*math.Log10(highest)-margin)*10) / 10
	return e
}
