package features

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"reflect"
	"strings"
)

const memoSuffix = ".memo"

// Remember returns what compute makes of files and of settings (anything JSON can hold), from the cache where it was made
// before of the same files, unchanged, under the same settings and by the same build; kind tells one sort of result from
// another. Results that JSON does not give back exactly are made anew each time. A nil cache remembers nothing.
func Remember[T any](c *Cache, kind string, settings any, paths []string, compute func() (T, error)) (T, error) {
	place := c.memo(kind, settings, paths)
	if value, ok := recall[T](&place); ok {
		return value, nil
	}
	value, err := compute()
	if err != nil || !place.usable {
		return value, err
	}
	var back T
	kept, jsonErr := json.Marshal(value)
	if jsonErr == nil && json.Unmarshal(kept, &back) == nil && reflect.DeepEqual(value, back) {
		if now := c.memo(kind, settings, paths); now.usable && now.key == place.key { // no file has changed meanwhile
			c.report(place.write(memoSuffix, kept))
		}
	}
	return value, nil
}

// Recall returns what Remember would without computing it, and whether it can.
func Recall[T any](c *Cache, kind string, settings any, paths []string) (T, bool) {
	place := c.memo(kind, settings, paths)
	return recall[T](&place)
}

func recall[T any](place *cacheEntry) (value T, ok bool) {
	var kept []byte
	if place.usable && place.read(memoSuffix, &kept) && json.Unmarshal(kept, &value) == nil {
		return value, true
	}
	var none T
	return none, false
}

// memo is the place of a result.
func (c *Cache) memo(kind string, settings any, paths []string) cacheEntry {
	if c == nil || len(paths) == 0 {
		return cacheEntry{}
	}
	set, err := json.Marshal(settings)
	if err != nil {
		return cacheEntry{}
	}
	sum := sha256.Sum256(set)
	var key strings.Builder
	key.WriteString("memo " + kind + " " + hex.EncodeToString(sum[:]) + "\n")
	for _, path := range paths {
		e := c.entry(path)
		if !e.usable {
			return cacheEntry{}
		}
		key.WriteString(e.key)
	}
	return cacheEntry{cache: c, key: key.String(), usable: true}
}
