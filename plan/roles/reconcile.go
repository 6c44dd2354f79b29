package roles

// sings: instruments that may stand beside a voice word to say who sings ("Vox Keys", "Drummer Vox"), and how far that
// speaks for a backing voice; guitarists and pianists often sing the lead.
var sings = map[string]float64{"drums": 2, "percussion": 2, "bass": 2, "horns": 1.5, "organ": 1.5, "piano": 1.2,
	"electric guitar": 1.2, "acoustic guitar": 0.6, "kick": 0, "snare": 0, "hat": 0, "tom": 0, "cymbal": 0}

const returns = 0.6 // score from which a name tells of an effect return

// reconcile settles the words whose meaning hangs on their company: in the name, and among the names that plainly say
// a role. unknown tells that the name holds words that were not understood. Every rule is common practice, no source.
// The figures in the rules are weights as in the tables of words (see table.go: 1 leans, 3 settles), or parts of one; they were
// chosen on lists of names that many people wrote, as the tables were.
func reconcile(score map[string]float64, unknown bool, company map[string]int) {
	said := top(withoutLeanings(score))
	voice := score["@voice"] > 0
	// Vox Keys, Drummer Vox: a voice, named after who sings; never a pad of voices. Group singers mostly back.
	if voice && score["@return"] < returns {
		backs := 0.0
		for role := range sings {
			if score[role] > 0 {
				score[role] *= 0.3
				backs = max(backs, sings[role])
			}
		}
		score["backing vocal"] += backs
	}
	// BG DI, BG Mic: a bass guitar has such things, a backing voice has none but a microphone among voices.
	if score["@bg"] > 0 && score["@mic"] > 0 && !voice {
		score["backing vocal"] = 0
		score["bass"] += 3.2
	}
	rangeOf(score, voice, company)
	upright(score, said, company)
	harp(score, company)
	unplugged(score, company)
	foreground(score, said, voice, company)
	effects(score, said, unknown)
	// Clean Arp: perhaps a guitar where the list has guitars and no synth but this.
	if score["@arp"] > 0 && company["synth"] < 2 && company["guitars"] > 0 {
		score["electric guitar"] += 1.5
		score["synth"] *= 0.6
	}
}

// withoutLeanings are the scores of words that mean something by themselves.
func withoutLeanings(score map[string]float64) map[string]float64 {
	leaning := score["@part"] + score["@solo"] + score["@lead"]
	out := map[string]float64{}
	for role, v := range score {
		if role[0] != '@' && (leaning == 0 || v >= 2.6) {
			out[role] = v
		}
	}
	return out
}

// rangeOf: alto, tenor, bari are voices among voices, saxophones among horns, and qualify a guitar or a horn.
func rangeOf(score map[string]float64, voice bool, company map[string]int) {
	if score["@part"] == 0 {
		return
	}
	blows := company["horns"] > 0
	choir := company["backing vocal"] > 2*company["horns"]
	if choir && score["bass"] > 0 { // the basses of a choir
		score["bass"] *= 0.4
		score["backing vocal"]++
	}
	switch {
	case score["horns"] >= 4 && !voice:
		score["backing vocal"] = 0
	case score["electric guitar"] >= 2 || score["acoustic guitar"] >= 2:
		score["horns"], score["backing vocal"] = 0, 0
	case voice || score["backing vocal"] >= 3.5:
		score["horns"] = 0
		score["backing vocal"] += 1.5
	case score["@solo"] > 0 && company["voices"] > 0: // a soprano's solo
		score["horns"] *= 0.7
		score["backing vocal"] *= 0.5
		score["electric guitar"] = 0
		score["lead vocal"] += 2
	case blows && !choir:
		score["backing vocal"] *= 0.4
		score["horns"] += 1.5
	case choir && !blows:
		score["horns"] *= 0.3
		score["backing vocal"] += 1.2
	}
}

// upright is a piano, or the bass where it has a bridge or a pickup, where another piano plays, or where no bass does.
func upright(score map[string]float64, said float64, company map[string]int) {
	if score["@upright"] == 0 || said >= 3.5 {
		return
	}
	switch {
	case score["@mic"] > 0:
		score["bass"], score["piano"] = 3.5, 0.5
	case company["bass"] == 0 && company["piano"] > 0:
		score["bass"], score["piano"] = 2.8, 1.2
	case company["piano"] > 0:
		score["bass"], score["piano"] = 2, 1.8
	default:
		score["bass"], score["piano"] = 1.5, 2.5
	}
}

// harp: a harmonica where the name tells of an amplifier, or among guitars without any strings.
func harp(score map[string]float64, company map[string]int) {
	if score["@harp"] == 0 || score["horns"] >= 3.5 {
		return
	}
	bows := company["strings"] > 0
	switch {
	case score["@mic"] > 0 && !bows:
		score["horns"], score["strings"] = 3, 1.5
	case !bows && company["guitars"] > 0 && company["horns"] == 0:
		score["horns"], score["strings"] = 2.2, 2
	}
}

// unplugged: a guitar among acoustic instruments without drums or electric guitars is most likely acoustic.
func unplugged(score map[string]float64, company map[string]int) {
	electric, acoustic := score["electric guitar"], score["acoustic guitar"]
	drums := company["kick"] + company["drums"] + company["overhead"]
	if electric >= 3.2 || electric < 2 || acoustic == 0 || drums > 0 || company["electric guitar"] > 0 {
		return
	}
	if wood := company["acoustic guitar"] + company["strings"]; wood >= 2 || wood+company["percussion"] >= 4 {
		score["electric guitar"], score["acoustic guitar"] = electric/2, acoustic+1.6
	}
}

// foreground: "solo" and "lead" qualify the instrument beside them; alone they are who plays solos in such a list.
func foreground(score map[string]float64, said float64, voice bool, company map[string]int) {
	if score["@solo"] == 0 && score["@lead"] == 0 {
		return
	}
	if voice {
		score["lead vocal"] += 1.5
		return
	}
	// Ret Lead Room: what leads, through a room; the microphones in the room lead nothing.
	if score["@return"] >= returns && score["@lead"] > 0 && said > 0 && said == score["room"] {
		score["room"] = 0
		return
	}
	if said >= 2.4 || score["@part"] > 0 {
		return
	}
	sung := company["singers"] > 0
	switch {
	case score["@solo"] > 0 && company["guitars"] > 0:
		score["electric guitar"] += 1.4
		score["backing vocal"] *= 0.4
	case score["@solo"] > 0:
		score["lead vocal"] += 1.4
	case sung && company["guitars"] == 0 && company["synth"] > 1:
		score["synth"] += 1.8
	case !sung && score["@lead"] > 0 && company["voices"] > 0:
		score["lead vocal"] += 1.4
	case sung && company["guitars"] > 1 && company["synth"] == 0:
		score["electric guitar"] += 1.2
	}
}

// effects settles the words that are an effect's return, an effect sound or a take.
func effects(score map[string]float64, said float64, unknown bool) {
	// Hall AB, Main AB, Main L: microphones in the hall, no return.
	if (score["@hall"] > 0 || score["@main"] > 0) && score["@pair"] > 0 && said < 3.5 {
		score["@return"], score["room"] = 0, 3
	} else if score["@main"] > 0 && !unknown && said == 0 && top(score) == 0 {
		score["room"] = 1.8
	}
	// Perc Cymbal: the percussionist's, not the kit's.
	if score["percussion"] >= 3.5 && score["snare"] == 0 {
		score["cymbal"] *= 0.6
		score["kick"] *= 0.6
	}
	// Bass Slap, Conga Slap: a way of playing, no echo.
	if score["@slap"] > 0 && (score["bass"] >= 2 || score["percussion"] >= 2) {
		score["@return"] -= 0.7
	}
	// Reverse cymbal: an effect.
	if score["@reverse"] > 0 && score["cymbal"] > 0 && score["cymbal"] >= top(score) {
		score["@noise"] += score["cymbal"] + 1
	}
	// Whip FX: a sound; Vox FX or FX 1: a return.
	if score["@fx"] > 0 && score["@return"] == 0 {
		if score["@noise"] > 0 || unknown && said == 0 {
			score["@noise"] += 2
		} else {
			score["@return"] = 1
		}
	}
	// Drum Comp: a compressed copy; Vox Comp: the take put together.
	if score["@comp"] > 0 {
		for role := range drumRoles {
			if score[role] >= 2 {
				score["@parallel"] = 1
			}
		}
	}
	// Clap Verb, VP Rm Verb: a return of a room is the return of what stands in it.
	if score["@return"] > 0 && said > score["room"] {
		score["room"] = 0
	}
}
