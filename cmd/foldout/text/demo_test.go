package text

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDemoSaysWhatToTryNext(t *testing.T) {
	for dir, want := range map[string]string{
		"foldout-demo":      "foldout suggest foldout-demo --pairs 6",
		"my songs/the demo": `foldout suggest "my songs/the demo" --pairs 6`,
	} {
		var b strings.Builder
		require.NoError(t, Next(&b, dir, false))
		assert.Contains(t, b.String(), want)
		assert.NotContains(t, b.String(), "steps")
		b.Reset()
		require.NoError(t, Next(&b, dir, true))
		assert.Regexp(t, `foldout steps "?`+dir+`\.json"?\n`, b.String())
	}
}
