package patch

import (
	"fmt"

	"foldout/plan/rig"
)

// End is one end of a line: the plug on a device and the three contacts one channel uses there.
type End struct {
	Connector string `json:"connector"` // dsub, trs or xlr
	Plug      int    `json:"plug"`      // which 25-way D-type of the device, or which jack, counted from 1
	Channel   int    `json:"channel"`   // channel within the plug: 1 to 8 on a D-type, else 1
	Hot       string `json:"hot"`
	Cold      string `json:"cold"`
	Ground    string `json:"ground"`
}

// pinsDSub are hot, cold and ground of the eight channels on a 25-way D-type: AES59-2012, analogue. Pin 13 is open.
var pinsDSub = [8][3]int{
	{24, 12, 25}, {10, 23, 11}, {21, 9, 22}, {7, 20, 8}, {18, 6, 19}, {4, 17, 5}, {15, 3, 16}, {1, 14, 2},
}

// DSubPins returns the pins of a channel (1 to 8) on a 25-way D-type wired for analogue audio as AES59-2012 has it;
// ok is false for other channels.
func DSubPins(channel int) (hot, cold, ground int, ok bool) {
	if channel < 1 || channel > len(pinsDSub) {
		return 0, 0, 0, false
	}
	p := pinsDSub[channel-1]
	return p[0], p[1], p[2], true
}

// end finds plug, channel and contacts of a device's channel n, counted from 1. XLR contacts are those of AES14-1992
// (2 hot, 3 cold, 1 screen), those of the jack common practice (tip hot, ring cold, sleeve screen).
func end(connector string, n int) End {
	switch connector {
	case rig.DSub:
		channel := (n-1)%8 + 1
		hot, cold, ground, _ := DSubPins(channel)
		return End{connector, (n-1)/8 + 1, channel, fmt.Sprint(hot), fmt.Sprint(cold), fmt.Sprint(ground)}
	case rig.XLR:
		return End{connector, n, 1, "2", "3", "1"}
	}
	return End{connector, n, 1, "tip", "ring", "sleeve"}
}

// String names the plug for people: "D-type 2, channel 3", "TRS 5", "XLR 5".
func (e End) String() string {
	if e.Connector == rig.DSub {
		return fmt.Sprintf("D-type %d, channel %d", e.Plug, e.Channel)
	}
	return fmt.Sprintf("%s %d", plugName[e.Connector], e.Plug)
}

// Contacts names the contacts for people: "+24 -12 ground 25", "+tip -ring ground sleeve".
func (e End) Contacts() string { return fmt.Sprintf("+%s \u2212%s ground %s", e.Hot, e.Cold, e.Ground) }

// plugName is a connector's name on paper.
var plugName = map[string]string{rig.DSub: "25-way D-type", rig.TRS: "TRS", rig.XLR: "XLR"}
