package features

import (
	"foldout/features/kinship"
	"foldout/features/mixture"
)

// Survey looks at all tracks as possible sums of one another (mixture.Look). As with Relate, tracks that came from the
// cache, or went there, are not looked at again while none of them has changed.
func Survey(tracks []*Analysis) *mixture.Survey {
	set := together(tracks)
	var survey mixture.Survey
	if set.usable && set.read(mixSuffix, &survey) && len(survey.Textures) == len(tracks) {
		return &survey
	}
	sketches := make([]kinship.Sketch, len(tracks))
	for i, t := range tracks {
		sketches[i] = t.Sketch
	}
	made := mixture.Look(sketches)
	if set.usable {
		set.cache.report(set.write(mixSuffix, *made))
	}
	return made
}

const mixSuffix = ".mix"
