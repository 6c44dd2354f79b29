package sheet

import "strings"

// Names splits a list of names at its commas. A name that holds a comma stands in quotes: `"Bells, high",Vox`; a quote
// within a name is no quote unless it stands at its beginning.
func Names(list string) []string {
	var out []string
	for {
		name, rest, more := nextName(list)
		out = append(out, name)
		if !more {
			return out
		}
		list = rest
	}
}

// JoinNames is the list that Names splits into these names.
func JoinNames(names []string) string {
	quoted := make([]string, len(names))
	for i, n := range names {
		if quoted[i] = n; strings.Contains(n, ",") || strings.HasPrefix(n, `"`) {
			quoted[i] = `"` + n + `"`
		}
	}
	return strings.Join(quoted, ",")
}

func nextName(list string) (name, rest string, more bool) {
	if inner, ok := strings.CutPrefix(strings.TrimLeft(list, " "), `"`); ok {
		for at, r := range inner {
			if r != '"' {
				continue
			}
			after := strings.TrimLeft(inner[at+1:], " ")
			if after == "" {
				return inner[:at], "", false
			}
			if after[0] == ',' {
				return inner[:at], after[1:], true
			}
		}
	}
	name, rest, more = strings.Cut(list, ",")
	return strings.TrimSpace(name), rest, more
}
