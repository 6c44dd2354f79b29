package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
)

// Somebody else writes the sheet between our reading and our writing: both changes are kept.
func TestAChangeByAnotherProgramIsNotLost(t *testing.T) {
	path := keep(t, "s.json", soundSheet)
	tries := 0
	require.NoError(t, rewriteSheet(path, func(doc *sheet.Sheet) error {
		if tries++; tries == 1 {
			_, _, err := call(t, "rename", path, "--title", "Theirs")
			require.NoError(t, err)
		}
		return doc.RenamePair(1, "Ours")
	}))
	assert.Equal(t, 2, tries)
	doc, err := loadSheet(path)
	require.NoError(t, err)
	assert.Equal(t, "Theirs", doc.Title)
	assert.Equal(t, "Ours", doc.Pairs[0].Name)
}
