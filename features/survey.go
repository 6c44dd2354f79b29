package features

import (
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
	whole, kept := sketches(tracks)
	made := mixture.Look(whole)
	if set.usable && kept {
		set.cache.report(set.write(mixSuffix, *made))
	}
	return made
}

const mixSuffix = ".mix"
