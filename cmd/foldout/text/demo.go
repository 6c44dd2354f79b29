package text

import (
	"fmt"
	"io"
	"strings"
)

// Next says what to try with the tracks, and with what the demo wrote of the studio side where it did.
func Next(w io.Writer, dir string, studio bool) error {
	quote := func(s string) string {
		if strings.ContainsAny(s, " \t'&()$;") {
			return `"` + s + `"`
		}
		return s
	}
	more := ""
	if studio {
		more = fmt.Sprintf(`
and the studio side of it:

  foldout suggest %[1]s --pairs 4 --out %[2]s
  foldout steps %[2]s
  foldout trace %[3]s --tones %[4]s --html unit.html
  foldout compare %[5]s %[6]s --out ab
  foldout listen ab
`, quote(dir), quote(dir+".json"), quote(dir+"-return.wav"), quote(dir+"-tones"), quote(dir+"-mix.wav"), quote(dir+"-print.wav"))
	}
	_, err := fmt.Fprintf(w, `
Next, with the same tracks (listen to them too):

  foldout measure %[1]s
  foldout suggest %[1]s --pairs 6
  foldout suggest %[1]s --pairs 4 --ears-only
  foldout suggest %[1]s --pairs 4 --format json
%[2]s
and then with your own: foldout suggest FOLDER --pairs 4
`, quote(dir), more)
	return err
}
