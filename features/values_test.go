package features

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLevelsThatJSONCannotHoldAreNull(t *testing.T) {
	for _, c := range []struct {
		value DB
		text  string
	}{
		{-23.5, "-23.5"},
		{0, "0"},
		{DB(math.Inf(-1)), "null"},
		{DB(math.NaN()), "null"},
	} {
		text, err := json.Marshal(c.value)
		require.NoError(t, err)
		assert.Equal(t, c.text, string(text))
		var back DB
		require.NoError(t, json.Unmarshal(text, &back))
		if c.text == "null" {
			assert.True(t, math.IsInf(float64(back), -1))
		} else {
			assert.Equal(t, c.value, back)
		}
	}
	var d DB
	assert.Error(t, json.Unmarshal([]byte(`"loud"`), &d))
}

func TestBandsAreAnObjectInOrder(t *testing.T) {
	b := Bands{1, 2, 3, 4, 5, 6, 7, 8, 9, DB(math.Inf(-1))}
	text, err := json.Marshal(b)
	require.NoError(t, err)
	assert.Equal(t, `{"31.5":1,"63":2,"125":3,"250":4,"500":5,"1000":6,"2000":7,"4000":8,"8000":9,"16000":null}`, string(text))
	var back Bands
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, b, back)
	for _, bad := range []string{`[]`, `{}`, `{"31.5":1}`, `{"31.5":1,"63":2,"125":3,"250":4,"500":5,"1000":6,"2000":7,"4000":8,"8000":9,"15000":1}`} {
		assert.Error(t, json.Unmarshal([]byte(bad), &back), bad)
	}

	s := Shares{0.5, 0.25, 0.25}
	text, err = json.Marshal(s)
	require.NoError(t, err)
	assert.Equal(t, `{"sub":0.5,"low":0.25,"low_mid":0.25,"mid":0,"upper_mid":0,"presence":0,"air":0}`, string(text))
	var shares Shares
	require.NoError(t, json.Unmarshal(text, &shares))
	assert.Equal(t, s, shares)
}

func FuzzBands(f *testing.F) {
	f.Add([]byte(`{"31.5":1,"63":2,"125":3,"250":4,"500":5,"1000":6,"2000":7,"4000":8,"8000":9,"16000":null}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		var b Bands
		if json.Unmarshal(text, &b) != nil {
			return
		}
		again, err := json.Marshal(b)
		require.NoError(t, err)
		var back Bands
		require.NoError(t, json.Unmarshal(again, &back))
		assert.Equal(t, b, back)
	})
}
