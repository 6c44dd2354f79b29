package fold

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/company"
	"foldout/plan/roles"
)

// What settled lead against backing is said in words that are true of the track, and only where no name says more. Invented.
func TestCompanyIsGivenAsAReason(t *testing.T) {
	settled := func(measure string, value, term float64) company.Settled {
		c := company.Settled{Measured: make([]float64, len(company.Measures)), Terms: make([]float64, len(company.Measures))}
		j := slices.Index(company.Measures, measure)
		c.Measured[j], c.Terms[j] = value, term
		return c
	}
	for name, c := range map[string]struct {
		role, file string
		company    company.Settled
		fact       string
	}{
		"a lead sings most":         {"lead vocal", "Audio 1.wav", settled("time", 0.4, 0.5), "sings most of the time"},
		"a backing voice seldom":    {"backing vocal", "Audio 1.wav", settled("time", -0.4, -0.5), "sings now and then"},
		"in step":                   {"backing vocal", "Audio 1.wav", settled("in step", 0.8, -0.9), "sings in step with other voices"},
		"softer":                    {"backing vocal", "Audio 1.wav", settled("louder", -0.6, -0.4), "softer than the other voices"},
		"too little to mention":     {"lead vocal", "Audio 1.wav", settled("time", 0.1, 0.1), ""},
		"speaks for the other":      {"lead vocal", "Audio 1.wav", settled("time", -0.4, -0.5), ""},
		"no voice":                  {"synth", "Audio 1.wav", settled("time", 0.4, 0.5), ""},
		"the name says it already":  {"lead vocal", "Lead Vox.wav", settled("time", 0.4, 0.5), ""},
		"how many there are is not": {"lead vocal", "Audio 1.wav", settled("others", 1, 0.9), ""},
	} {
		t.Run(name, func(t *testing.T) {
			s := &Session{Hints: roles.Parse([]string{c.file}), Own: []Belief{sure(c.role, 0.8)}, company: map[int]company.Settled{0: c.company}}
			got := s.companyReason(0)
			if c.fact == "" {
				assert.Empty(t, got)
				return
			}
			require.Len(t, got, 1)
			assert.Equal(t, c.fact, got[0].Fact)
		})
	}
}
