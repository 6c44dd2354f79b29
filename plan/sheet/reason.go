package sheet

import (
	"encoding/json"
	"fmt"
)

// Reason is one fact that put a track where it is, in parts: what is so, the figures behind it, and, where the fact
// speaks for one pair rather than another, the comparison.
type Reason struct {
	Fact       string      `json:"fact"`                 // "the same performance as 14 Bass Amp", "centroid 1.48 kHz"
	Detail     string      `json:"detail,omitempty"`     // "coherence 0.99, 1.4 ms apart"
	Comparison *Comparison `json:"comparison,omitempty"` // nil for a fact that stands alone
	Measure    string      `json:"measure"`
	Value      float64     `json:"value"`
	Unit       string      `json:"unit"`
}

// Comparison says between which two pairs a measure lies nearer to the first. The figures are the middles of the pairs'
// other tracks, in the unit of the reason.
type Comparison struct {
	Nearer       string  `json:"nearer_to"`
	NearerValue  float64 `json:"nearer_value"`
	Farther      string  `json:"farther_from"`
	FartherValue float64 `json:"farther_value"`
}

// Text is the whole reason in one sentence.
func (r *Reason) Text() string {
	text := r.Fact
	if r.Detail != "" {
		text += " (" + r.Detail + ")"
	}
	if c := r.Comparison; c != nil {
		text += fmt.Sprintf(": nearer to %s (%s) than to %s (%s)", c.Nearer, WithUnit(c.NearerValue, r.Unit), c.Farther, WithUnit(c.FartherValue, r.Unit))
	}
	return text
}

// Convinces tells whether the figures as they are shown bear the comparison out: the two pairs read differently, and the farther
// does not lie between the measure and the nearer one. A reason without a comparison always does.
func (r *Reason) Convinces() bool {
	c := r.Comparison
	if c == nil {
		return true
	}
	return WithUnit(c.NearerValue, r.Unit) != WithUnit(c.FartherValue, r.Unit) &&
		(c.FartherValue-r.Value)*(c.FartherValue-c.NearerValue) > 0
}

// reasonFields is Reason without its methods.
type reasonFields Reason

// MarshalJSON adds the sentence to the fields, for those who only want to show it.
func (r Reason) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Text string `json:"text"`
		reasonFields
	}{r.Text(), reasonFields(r)})
}

// UnmarshalJSON takes the sentence for the fact where there is no fact, as in sheets of schema 1.
func (r *Reason) UnmarshalJSON(data []byte) error {
	var old struct{ Text string }
	if err := json.Unmarshal(data, (*reasonFields)(r)); err != nil {
		return err
	}
	if r.Fact != "" {
		return nil
	}
	if err := json.Unmarshal(data, &old); err != nil {
		return err
	}
	r.Fact = old.Text
	return nil
}
