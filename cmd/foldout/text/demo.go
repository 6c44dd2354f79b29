package text

import (
	"fmt"
	"io"
	"strings"
)

// Next says what to try with the tracks.
func Next(w io.Writer, dir string) error {
	quoted := dir
	if strings.ContainsAny(dir, " \t'&()$;") {
		quoted = `"` + dir + `"`
	}
	_, err := fmt.Fprintf(w, `
Next, with the same tracks (listen to them too):

  foldout measure %[1]s
  foldout suggest %[1]s --pairs 6
  foldout suggest %[1]s --pairs 4 --ears-only
  foldout suggest %[1]s --pairs 4 --format json

and then with your own: foldout suggest FOLDER --pairs 4
`, quoted)
	return err
}
