package fold

import (
	"math"
	"testing"

	"foldout/testdata/song"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features"
)

func TestChoicesThatContradictOneAnotherNameTheTracks(t *testing.T) {
	for name, c := range map[string]struct {
		opt  Options
		want []string
	}{
		"unknown":        {Options{Pin: []string{"Tuba=1"}}, []string{"--pin Tuba=1", `"Tuba"`}},
		"pair too high":  {Options{Pin: []string{"Organ=9"}}, []string{"from 1 to 3"}},
		"pinned twice":   {Options{Pin: []string{"Organ=1", "Organ=2"}}, []string{"--pin Organ=2", "pair 1 already"}},
		"one name":       {Options{Tie: []string{"Organ"}}, []string{"at least two"}},
		"named twice":    {Options{Apart: []string{"Organ,organ.wav"}}, []string{"Organ.wav is named twice"}},
		"tied and apart": {Options{Tie: []string{"Organ,Piano"}, Apart: []string{"Organ,Piano"}}, []string{"Organ.wav", "Piano.wav", "on 3 pairs"}},
		"too many apart": {Options{Apart: []string{"Organ,Piano,Hat,Bass DI"}}, []string{"Organ.wav", "Bass DI.wav"}},
	} {
		t.Run(name, func(t *testing.T) {
			c.opt.Pairs, c.opt.Seed = 3, 1
			tracks, kin := song.Plain(t)
			c.opt.Kin = kin
			s, err := Prepare("song", tracks, c.opt)
			if err == nil {
				_, err = s.Suggest()
			}
			var option *OptionError
			require.ErrorAs(t, err, &option)
			for _, w := range c.want {
				assert.Contains(t, err.Error(), w)
			}
			assert.NotContains(t, err.Error(), "Shaker", "only tracks that were named")
			assert.NotContains(t, err.Error(), "cluster")
		})
	}
}

func TestWhatIsSetAsideSaysWhy(t *testing.T) {
	silence := features.DB(math.Inf(-1))
	for want, p := range map[string]features.Profile{
		"empty: the file holds no samples":            {SamplePeakDBFS: silence, Channels: 1},
		"too short to be measured: 1 sample":          {SamplePeakDBFS: -6, Frames: 1, Channels: 1, DurationS: 1.0 / 48000},
		"no audio: none of its samples is a number":   {SamplePeakDBFS: silence, Frames: 100, Channels: 2, NonFinite: 200, DurationS: 1},
		"silent: nothing rises above the noise floor": {SamplePeakDBFS: silence, Frames: 48000, Channels: 1, DurationS: 1},
	} {
		assert.Equal(t, want, whySilent(&p))
	}
}
