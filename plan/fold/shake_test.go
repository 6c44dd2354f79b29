package fold

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/trade"
)

// What the user has pinned is certain, wherever it is.
func TestAPinIsNoNearThing(t *testing.T) {
	s := prepareSong(t, Options{Pairs: 4, Seed: 1, Pin: []string{"Piano=4", "Bass DI=3"}})
	doc, err := s.Suggest()
	require.NoError(t, err)
	seen := 0
	for n, p := range doc.Pairs {
		for _, tr := range p.Tracks {
			switch tr.File {
			case "Piano.wav":
				assert.Equal(t, 3, n)
			case "Bass DI.wav", "Bass Amp.wav": // the amplifier carries the same performance
				assert.Equal(t, 2, n)
			default:
				continue
			}
			seen++
			assert.Equal(t, 1.0, tr.Confidence, tr.File)
		}
	}
	assert.Equal(t, 3, seen)
	for _, w := range doc.Warnings {
		assert.NotContains(t, w, "Piano")
	}
}

// Where a track would go next is a pair that somebody would put it on (common practice, no source): no bass among voices.
func TestTheRunnerUpIsThinkable(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	for range 12 {
		s := pure(t, rng, drawCounts(rng))
		s.opt.Seed = 1
		g, err := s.Fold(4)
		require.NoError(t, err)
		for p, next := range g.RunnerUp {
			if next >= 0 {
				assert.NotEqual(t, g.Labels[p], next)
				role, _ := s.Belief[p].Best()
				assert.False(t, s.unthinkable(p, g.Labels, next), "%s to pair %d of %v", role, next, kindsOnPairs(s, g))
			}
		}
	}
}

func TestACompanyOfVoicesIsUnthinkableForABass(t *testing.T) {
	s := pure(t, rand.New(rand.NewPCG(1, 1)), map[string]int{"bass": 1, "lead vocal": 2, "kick": 1})
	labels := make([]int, len(s.Live))
	bass := -1
	for p := range labels {
		switch role, _ := s.Belief[p].Best(); role {
		case "bass":
			bass = p
		case "lead vocal":
			labels[p] = 1
		}
	}
	assert.True(t, s.unthinkable(bass, labels, 1))
	labels[bass] = 2
	assert.False(t, s.unthinkable(bass, labels, 0), "bass sits with the kick: %v", trade.Roles)
}
