package demo

import "sync"

// session holds what several tracks share: each is performed once, by whoever needs it first.
type session struct {
	drums   func() []source
	close   func(m *microphone) []float64
	bassDI  func() []float64
	lead    func() []float64
	backing []func() []float64
}

func newSession() *session {
	s := &session{
		drums:  sync.OnceValue(func() []source { return playKit().sources() }),
		bassDI: sync.OnceValue(bass),
		lead:   sync.OnceValue(leadVocal),
	}
	var mu sync.Mutex
	heard := map[*microphone]func() []float64{}
	s.close = func(m *microphone) []float64 {
		mu.Lock()
		f, ok := heard[m]
		if !ok {
			f = sync.OnceValue(func() []float64 { return m.record(s.drums()) })
			heard[m] = f
		}
		mu.Unlock()
		return f()
	}
	for _, c := range choir {
		s.backing = append(s.backing, sync.OnceValue(func() []float64 { return backingVocal(c) }))
	}
	return s
}

// tracks lists the files of the recording in the order of the engineer's desk.
func tracks() []Track {
	const (
		drummer, percussionist, bassist    = "Barnaby Quill", "Odo Maplethwaite", "Iris Tarrant"
		guitarist, second, pianist         = "Jonah Wexcombe", "Lisbet Orrin", "Petra Lindqvold"
		trumpeter, saxophonist, trombonist = "Marlow Teague", "Hesper Doune", "Augustin Pell"
	)
	mono := func(f func(*session) []float64) func(*session) [][]float64 {
		return func(s *session) [][]float64 { return [][]float64{f(s)} }
	}
	mic := func(m *microphone) func(*session) [][]float64 {
		return mono(func(s *session) []float64 { return s.close(m) })
	}
	solo := func(f func() []float64) func(*session) [][]float64 {
		return mono(func(*session) []float64 { return f() })
	}
	backing := func(i int) func(*session) [][]float64 {
		return mono(func(s *session) []float64 { return s.backing[i]() })
	}
	return []Track{
		{"01 Kick In.wav", "kick drum, microphone inside", drummer, 1, -10, false, mic(&kickIn)},
		{"02 Snare Top.wav", "snare drum, upper head", drummer, 1, -11, false, mic(&snareUp)},
		{"03 Snare Bottom.wav", "snare drum, wires", drummer, 1, -15, false, mic(&snareLow)},
		{"04 Hi-Hat.wav", "hi-hat", drummer, 1, -18, false, mic(&hatMic)},
		{"05 Rack Tom.wav", "rack tom", drummer, 1, -13, false, mic(&rackMic)},
		{"06 Floor Tom.wav", "floor tom", drummer, 1, -13, false, mic(&floorMic)},
		{"07 OH L.wav", "overhead, drummer's right", drummer, 1, -14, false, mic(&overL)},
		{"08 OH R.wav", "overhead, drummer's left", drummer, 1, -14, false, mic(&overR)},
		{"09 Room.wav", "distant pair of microphones", drummer, 2, -15, false, func(s *session) [][]float64 { return room(s.drums()) }},
		{"10 Drums Parallel.wav", "parallel copy of the kit, compressed hard", drummer, 2, -12, false, func(s *session) [][]float64 {
			return parallel([]panned{{s.close(&kickIn), 0.5}, {s.close(&snareUp), 0.5}, {s.close(&rackMic), 0.6}, {s.close(&floorMic), 0.35}, {s.close(&overL), 0}, {s.close(&overR), 1}})
		}},
		{"11 Shaker.wav", "shaker", percussionist, 1, -20, false, solo(shaker)},
		{"12 Tambourine.wav", "tambourine", percussionist, 1, -16, false, solo(tambourine)},
		{"13 Bass DI.wav", "bass guitar, direct", bassist, 1, -13, false, mono(func(s *session) []float64 { return append([]float64(nil), s.bassDI()...) })},
		{"14 Bass Amp.wav", "bass guitar, amplifier", bassist, 1, -14, false, mono(func(s *session) []float64 { return bassAmp(s.bassDI()) })},
		{"15 E Gtr L.wav", "electric guitar, first take", guitarist, 1, -15, false, solo(func() []float64 { return rhythmGuitar("L") })},
		{"16 E Gtr R.wav", "electric guitar, second take", guitarist, 1, -15, false, solo(func() []float64 { return rhythmGuitar("R") })},
		{"17 Lead Gtr.wav", "electric guitar, lead", guitarist, 1, -14, false, solo(leadGuitar)},
		{"18 Acoustic Gtr.wav", "acoustic guitar", second, 1, -13, false, solo(acousticGuitar)},
		{"19 Piano.wav", "piano", pianist, 2, -14, false, func(*session) [][]float64 { return piano() }},
		{"20 Organ.wav", "drawbar organ", pianist, 2, -18, false, func(*session) [][]float64 { return organ() }},
		{"21 Pad.wav", "synthesiser pad", second, 2, -20, false, func(*session) [][]float64 { return pad() }},
		{"22 Trumpet.wav", "trumpet", trumpeter, 1, -14, false, solo(func() []float64 { return horn(trumpet, 0) })},
		{"23 Sax.wav", "tenor saxophone", saxophonist, 1, -15, false, solo(func() []float64 { return horn(saxophone, 1) })},
		{"24 Trombone.wav", "trombone", trombonist, 1, -15, false, solo(func() []float64 { return horn(trombone, 3) })},
		{"25 Lead Vox.wav", "lead vocal", "Ottoline Fenn", 1, -12, false, mono(func(s *session) []float64 { return append([]float64(nil), s.lead()...) })},
		{"26 BV 1 High.wav", "backing vocal", "Ottoline Fenn", 1, -16, false, backing(0)},
		{"27 BV 2 High.wav", "backing vocal", "Lisbet Orrin", 1, -16, false, backing(1)},
		{"28 BV 3 Mid.wav", "backing vocal", "Hesper Doune", 1, -16, false, backing(2)},
		{"29 BV 4 Mid.wav", "backing vocal", "Marlow Teague", 1, -16, false, backing(3)},
		{"30 BV 5 Low.wav", "backing vocal", "Jonah Wexcombe", 1, -16, false, backing(4)},
		{"31 BV 6 Low.wav", "backing vocal", "Barnaby Quill", 1, -16, false, backing(5)},
		{"32 Vox Plate.wav", "plate return of the vocals", "", 2, -20, false, func(s *session) [][]float64 {
			var backing [][]float64
			for _, b := range s.backing {
				backing = append(backing, b())
			}
			return vocalPlate(s.lead(), backing)
		}},
		{"33 Spare.wav", "spare track, nothing recorded", "", 1, 0, true, nil},
	}
}
