package features

import (
	"strings"

	"foldout/features/kinship"
)

// Relate compares all tracks with one another (kinship.Relate); the relations name tracks by their position in the
// list. Tracks that came from the cache, or went there, are not compared again while none of them and nothing in
// their order has changed: comparing a hundred long tracks takes longer than all that a second run does besides.
func Relate(tracks []*Analysis) []kinship.Relation {
	set := together(tracks)
	var relations []kinship.Relation
	if set.usable && set.read(kinSuffix, &relations) {
		return relations
	}
	whole, kept := sketches(tracks)
	relations = kinship.Relate(whole)
	if set.usable && kept {
		set.cache.report(set.write(kinSuffix, relations))
	}
	return relations
}

// together is the place of what is known of several tracks as a set, unusable unless each has its own place.
func together(tracks []*Analysis) cacheEntry {
	if len(tracks) == 0 {
		return cacheEntry{}
	}
	var key strings.Builder
	key.WriteString("kin\n")
	for _, t := range tracks {
		if !t.place.usable {
			return cacheEntry{}
		}
		key.WriteString(t.place.key)
	}
	return cacheEntry{cache: tracks[0].place.cache, key: key.String(), usable: true}
}
