package rig

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAByteOrderMarkIsNoFault(t *testing.T) {
	_, want := Read(bytes.NewReader([]byte("name = \"Studio\"\n")))
	_, got := Read(bytes.NewReader([]byte("\xEF\xBB\xBFname = \"Studio\"\n")))
	require.Equal(t, want, got, "the same verdict with and without it")
	if got != nil {
		assert.NotContains(t, got.Error(), "line 1, column 1")
	}
}
