package rig

import (
	"fmt"
	"reflect"
	"strings"

	"github.com/adrg/strutil"
	"github.com/adrg/strutil/metrics"
)

// nearest is the similarity below which a suggestion would be a guess (chosen by trying misspelt keys).
const nearest = 0.4

// unknownKey says that a key is unknown and which one may be meant.
func unknownKey(row int, key []string) string {
	known, table := keysOf(key[:len(key)-1])
	last := key[len(key)-1]
	where := "in a rig"
	if table != "" {
		where = "in [" + table + "]"
	}
	text := fmt.Sprintf("line %d: unknown key %q %s", row, last, where)
	if k, ok := closest(last, known); ok {
		return text + fmt.Sprintf("; did you mean %q?", k)
	}
	return text + "; known are " + strings.Join(known, ", ")
}

// closest finds the most similar of the known words by Levenshtein distance.
func closest(word string, known []string) (string, bool) {
	best, at := 0.0, ""
	metric := metrics.NewLevenshtein()
	metric.CaseSensitive = false
	for _, k := range known {
		if s := strutil.Similarity(word, k, metric); s > best {
			best, at = s, k
		}
	}
	return at, best >= nearest
}

// keysOf lists the keys of a table of the file; an unknown table has those of the file itself.
func keysOf(path []string) (keys []string, table string) {
	t := reflect.TypeFor[file]()
	for _, p := range path {
		for i := range t.NumField() {
			f := t.Field(i)
			if f.Tag.Get("toml") != p {
				continue
			}
			for f.Type.Kind() == reflect.Pointer || f.Type.Kind() == reflect.Slice {
				f.Type = f.Type.Elem()
			}
			if f.Type.Kind() == reflect.Struct {
				t, table = f.Type, p
			}
			break
		}
	}
	for i := range t.NumField() {
		keys = append(keys, t.Field(i).Tag.Get("toml"))
	}
	return keys, table
}
