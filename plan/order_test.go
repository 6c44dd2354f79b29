package plan

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rooms lists the packages below plan. What stands lower may import what stands higher, never the reverse.
var rooms = []string{
	"sheet", "glossary", "trade", "habits", "homes", "roles", "ears", "company", "aside", "fold", "check", "explain",
	"curves", "rig", "channel", "patch", "stems", "levels", "lesson", "report", "serve", "linecheck", "printcheck", "steps", "workbench",
}

// sheetOnly lists the rooms that live on the saved document alone: of those that make it they import nothing.
var sheetOnly = []string{"rig", "channel", "patch", "stems", "levels", "lesson", "report"}

func TestImportsPointOneWay(t *testing.T) {
	const prefix = "foldout/plan/"
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		room, _, _ := strings.Cut(filepath.ToSlash(path), "/")
		from := slices.Index(rooms, room)
		require.GreaterOrEqual(t, from, 0, "%s is in no room of the list", path)
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, i := range file.Imports {
			name, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			rest, ours := strings.CutPrefix(name, prefix)
			if !ours {
				assert.NotEqual(t, "foldout/plan", name, path)
				continue
			}
			other, _, _ := strings.Cut(rest, "/")
			if other == room {
				continue
			}
			to := slices.Index(rooms, other)
			assert.True(t, 0 <= to && to < from, "%s imports %s, which does not stand above it", path, name)
			if slices.Contains(sheetOnly, room) {
				maker := slices.Contains([]string{"trade", "homes", "roles", "ears", "company", "aside", "fold", "check", "explain"}, other)
				assert.False(t, maker, "%s imports %s; all it needs should be in the sheet", path, name)
			}
		}
		return nil
	})
	require.NoError(t, err)
}
