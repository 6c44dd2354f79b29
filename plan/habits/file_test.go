package habits

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// What is written is read back to the same heights, and says in words what the rule of the invented engineer is.
func TestHabitsAreWrittenAndRead(t *testing.T) {
	e := engineers[0]
	rng := rand.New(rand.NewPCG(3, 4))
	h, report, space := learn(t, e.sheet(drawRoles(rng), 5), e.sheet(drawRoles(rng), 5), e.sheet(drawRoles(rng), 5))
	assert.Contains(t, report.Words, "bass leaves the drums from 5 pairs on: 3 of 3 sheets")
	var b strings.Builder
	require.NoError(t, Write(&b, h, report.Words))
	assert.Contains(t, b.String(), "#   bass leaves the drums from 5 pairs on: 3 of 3 sheets\n")
	assert.Contains(t, b.String(), "kinds = [\"Drums\", \"Bass\"]\n")
	again, err := Read(strings.NewReader(b.String()))
	require.NoError(t, err)
	assert.Equal(t, h, again)
	back, err := NewSpace(again)
	require.NoError(t, err)
	assert.Equal(t, space.Heights, back.Heights)

	_, second, _ := learn(t, e.sheet(drawRoles(rand.New(rand.NewPCG(3, 4))), 5))
	_, third, _ := learn(t, e.sheet(drawRoles(rand.New(rand.NewPCG(3, 4))), 5))
	assert.Equal(t, second, third, "the same sheets teach the same")
}

func TestFaultyFilesAreRefused(t *testing.T) {
	for text, want := range map[string]string{
		"[[height]]\nkinds = [\"Drums\", \"Tuba\"]\nheight = 1.0":               `there is no kind "Tuba"`,
		"[[height]]\nroles = [\"kick\"]\nheight = 1.0":                          "between two roles, not 1",
		"[[height]]\nheight = 1.0":                                              "want either kinds or roles",
		"[[height]]\nkinds = [\"Drums\", \"Bass\"]\nheight = -1.0":              "want a number above 0",
		"[[height]]\nkinds = [\"Drums\", \"Bass\"]\nheight = nan":               "want a number above 0",
		"[[height]]\nkinds = [\"Drums\", \"Bass\"]\nheight = 1.0\nheigth = 2.0": `line 4: there is no key "height.heigth"`,
		"[[height]\n": "line 1",
		"sheets = 3\n[[height]]\nkinds = [\"Drums\", \"Bass\"]\nheight = \"high\"\n": "line 4",
	} {
		_, err := Read(strings.NewReader(text))
		assert.ErrorContains(t, err, want, text)
	}
}

func FuzzRead(f *testing.F) {
	f.Add("sheets = 3\n[[height]]\nkinds = [\"Drums\", \"Bass\"]\nheight = 3.0\n")
	f.Add("[[height]]\nroles = [\"kick\", \"kick\"]\nheight = 1e-300\n")
	f.Fuzz(func(t *testing.T, text string) {
		h, err := Read(strings.NewReader(text))
		if err != nil {
			return
		}
		space, err := NewSpace(h)
		require.NoError(t, err)
		for _, at := range space.At {
			for _, v := range at {
				assert.False(t, v != v, "no number")
			}
		}
	})
}

// Without habits the roles lie as in the trade's tree: the squared distances of the points are its heights.
func TestTheTradesTreeIsMetExactly(t *testing.T) {
	space, err := NewSpace(&sheet.Habits{})
	require.NoError(t, err)
	for r := range trade.Roles {
		for s := range trade.Roles {
			var d float64
			for c := range space.At[r] {
				d += (space.At[r][c] - space.At[s][c]) * (space.At[r][c] - space.At[s][c])
			}
			assert.InDelta(t, trade.TreeDistance(r, s), d, 1e-9)
			assert.InDelta(t, trade.HabitTogether(r, s, func(int) bool { return false }), space.Together(r, s, func(int) bool { return false }), 1e-12)
		}
	}
}

// The gradient of the posterior is that of its values (central differences, Nocedal and Wright 2006, section 8.1).
func TestTheGradientIsRight(t *testing.T) {
	e := engineers[1]
	rng := rand.New(rand.NewPCG(5, 6))
	o, err := observe(e.sheet(drawRoles(rng), 5))
	require.NoError(t, err)
	p := newProblem([]*observed{o})
	x := make([]float64, p.size())
	for i := range x {
		x[i] = 0.05 * rng.NormFloat64()
	}
	gradient := make([]float64, len(x))
	p.loss(x, gradient)
	const h = 1e-5
	for i := 0; i < len(x); i += 7 {
		was := x[i]
		x[i] = was + h
		up := p.loss(x, nil)
		x[i] = was - h
		down := p.loss(x, nil)
		x[i] = was
		assert.InDelta(t, (up-down)/(2*h), gradient[i], 1e-4)
	}
}

func TestASheetWithoutAChoiceTeachesNothing(t *testing.T) {
	_, _, err := Learn([]*sheet.Sheet{{Pairs: []sheet.Pair{{Tracks: []sheet.Placement{{File: "a", Role: "kick"}, {File: "b", Role: "bass"}}}}}}, []string{"one.json"})
	assert.ErrorContains(t, err, "one.json: the sheet has tracks of known roles on 1 pair")
}
