package rig

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is written reads back as the same rig.
func TestWriteAndReadAgree(t *testing.T) {
	rigs := map[string]*Rig{"plain": Plain(4)}
	files, err := os.ReadDir(examples)
	require.NoError(t, err)
	for _, f := range files {
		r, err := Load(filepath.Join(examples, f.Name()))
		require.NoError(t, err)
		rigs[f.Name()] = r
	}
	odd := Plain(2)
	odd.Name = `quote " back\slash # [x] = é 長` + "\u00a0\U0001f3b8"
	odd.Interfaces[0].FullScaleDBu, odd.Alignment.DBFS, odd.Alignment.VU = 22.25, -18.25, -3
	odd.Return = Return{}
	rigs["odd names"] = odd
	for name, r := range rigs {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			require.NoError(t, Write(&b, r))
			back, err := Read(&b)
			require.NoError(t, err)
			want := *r
			want.Assumed = nil // stated now
			assert.Equal(t, &want, back)
		})
	}
}

func TestAContradictionIsNotWritten(t *testing.T) {
	r := Plain(2)
	r.Summing.Inputs = 3
	var b bytes.Buffer
	assert.ErrorContains(t, Write(&b, r), "odd number")
	assert.Zero(t, b.Len())
}
