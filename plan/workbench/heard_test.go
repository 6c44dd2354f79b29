package workbench

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/rig"
	"foldout/testdata/pages"
	"foldout/testdata/underrace"
)

// A sine whose peak is at the operating level reads 0 VU and its peak in dBFS: that is how both scales are defined
// (IEC 60268-17: the meter shows the mean of the rectified signal, marked in the level of a sine).
func TestTheMeter(t *testing.T) {
	underrace.Skip(t)
	dir := filepath.Join(t.TempDir(), "Sine")
	require.NoError(t, os.Mkdir(dir, 0o777))
	x := make([]float32, 60*48000)
	for i := range x {
		x[i] = float32(math.Pow(10, rig.DefaultAlignment.DBFS/20) * math.Sin(2*math.Pi*1000*float64(i)/48000))
	}
	w, err := wavfile.Create(filepath.Join(dir, "Organ.wav"), wavfile.Format{SampleRateHz: 48000, Channels: 2, Encoding: wavfile.Float32}, false)
	require.NoError(t, err)
	require.NoError(t, w.Write([][]float32{x, x}))
	require.NoError(t, w.Close())
	o := start(t, Options{Pairs: 1}, dir)
	n := &newcomer{tab: openTab(t, pages.Browser(t), o.address)}
	n.Until("the track is there", `document.querySelectorAll(".slipcard").length===1`)
	n.click("Equal loudness") // off
	n.click("Play")
	read := func(unit string) string {
		return fmt.Sprintf(`(()=>{const m=document.querySelector("#reading").textContent.replaceAll("−","-").match(/([-+]?[\d.]+) %s/);return m?+m[1]:-99})()`, unit)
	}
	n.Soon("VU", read("VU"), func(v float64) bool { return math.Abs(v) <= 0.3 })
	n.Soon("dBFS", read("dBFS"), func(v float64) bool { return math.Abs(v-rig.DefaultAlignment.DBFS) <= 0.3 })
	n.click("Mono") // both sides alike: nothing is lost
	n.Soon("VU in mono", read("VU"), func(v float64) bool { return math.Abs(v) <= 0.3 })
	n.click("Stop")
	n.Quiet()
}

// A pair, the pair without a track, another version of the sheet: whatever is switched to, the clock of the song goes on
// as it was set, no range comes late, and what sounds is the sum that was asked for. The kick of the song lies at 50 Hz,
// the organ above 260 Hz and louder.
func TestSwitchesKeepTheInstant(t *testing.T) {
	underrace.Skip(t)
	o := start(t, Options{Pairs: 2}, songFolder(t))
	var others []string
	for _, l := range o.bench.state().Session.Lanes {
		for _, tr := range l.Tracks {
			if tr.File != "Kick In.wav" && tr.File != "Organ.wav" {
				others = append(others, tr.File)
			}
		}
	}
	o.do(t, Act{Do: "move", Tracks: others, Pair: 2})
	o.do(t, Act{Do: "move", Tracks: []string{"Kick In.wav"}, Pair: 1})
	o.do(t, Act{Do: "move", Tracks: []string{"Organ.wav"}, Pair: 1})
	require.Equal(t, 200, o.post(t, "version", map[string]string{"name": "with the organ"}, nil))
	p := openTab(t, pages.Browser(t), o.address)
	p.Until("the tracks are there", `document.querySelectorAll(".slipcard").length===12`)
	p.Press(card("Organ.wav"))
	p.Until("the note speaks of it", `document.querySelector('[data-do="without"]')`)
	p.Press("#play")
	p.Until("it plays", `f.player.engine.playing && f.player.engine.position>0.2*48000`)
	tell[bool](p, `f.player.engine.setLoop([0,8*48000]).then(()=>true)`)
	p.Until("the loop plays", `f.player.engine.playing && f.player.engine.started!==undefined`)
	started := tell[float64](p, `f.player.engine.started`)
	heard := `(async()=>{const a=f.player.engine.meters[0],d=new Float32Array(a.frequencyBinCount),s=new Float32Array(a.frequencyBinCount);
		for(let k=0;k<20;k++){await new Promise(r=>setTimeout(r,60));a.getFloatFrequencyData(d);d.forEach((v,i)=>s[i]+=10**(v/10));}
		let high=0,all=0;for(let i=2;i<400;i++){all+=s[i];if(i>17)high+=s[i]}return high/all})()`
	p.Press(`.chip[data-to="p1"]`)
	p.Until("the pair is heard", `f.player.target.kind==="pair"`)
	p.Soon("the organ's share of the pair", heard, func(v float64) bool { return v > 0.5 })
	p.Press(`[data-do="without"]`)
	p.Until("the pair is heard without it", `f.player.target.kind==="without"`)
	p.Soon("what is left above 200 Hz", heard, func(v float64) bool { return v < 0.3 })
	p.Press(`.chip[data-to="p1"]`)
	p.Soon("the organ's share again", heard, func(v float64) bool { return v > 0.5 })

	// another version of the sheet, in which the organ is elsewhere now
	o.do(t, Act{Do: "move", Tracks: []string{"Organ.wav"}, Pair: 2})
	p.settled(o)
	p.Soon("the pair without the organ now", heard, func(v float64) bool { return v < 0.3 })
	p.Press(`[data-leaf="versions"]`)
	p.Until("the version is listed", `document.querySelector(".versions button")`)
	p.Press(`.versions button`)
	p.Until("it is compared", `document.querySelector(".compared .side button")`)
	assert.Contains(t, tell[string](p, `document.querySelector(".compared").innerText`), "Organ", "what moved")
	p.Press(`.compared .side button`)
	p.Until("the version's pair is heard", `f.player.target.kind==="other"`)
	p.Soon("with the organ, as it was then", heard, func(v float64) bool { return v > 0.5 })
	assert.InDelta(t, started, tell[float64](p, `f.player.engine.started`), 1e-9, "the clock of the song was set once")
	assert.True(t, tell[bool](p, `f.player.engine.playing`))
	p.Quiet()
}
