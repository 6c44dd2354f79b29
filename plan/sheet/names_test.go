package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Invented.
func TestNamesWithCommasStandInQuotes(t *testing.T) {
	for list, want := range map[string][]string{
		`Kick, Snare`:                      {"Kick", "Snare"},
		`"Bells, high",Vox`:                {"Bells, high", "Vox"},
		`Vox , "Bells, high" , "Pad, low"`: {"Vox", "Bells, high", "Pad, low"},
		`12" Tom,14" Tom`:                  {`12" Tom`, `14" Tom`},
		`"open,end`:                        {`"open`, "end"},
		`"12" Tom, low",Hat`:               {`12" Tom, low`, "Hat"},
		`one`:                              {"one"},
	} {
		assert.Equal(t, want, Names(list), list)
	}
}

// Headings as speakers of the languages write them (from memory).
func TestHeadingsInSevenLanguages(t *testing.T) {
	for _, head := range []string{"Track,Pair,Bus", "Datei;Paar;Gruppe", "Spurname;Ausgänge;Bus", "Fichier;Paire;Groupe", "Nom du fichier;Sorties;Bus", "Archivo;Par;Grupo", "Pista;Salidas;Grupo",
		"Traccia;Coppia;Gruppo", "Nome file;Uscite;Bus", "Faixa;Par;Grupo", "Ficheiro;Saídas;Barramento", "Spoor;Paar;Groep", "Bestandsnaam;Uitgangen;Bus"} {
		sep := ","
		if strings.Contains(head, ";") {
			sep = ";"
		}
		m, err := ReadManual(strings.NewReader(head + "\nKick.wav" + sep + "2" + sep + "Beat\n"))
		require.NoError(t, err, head)
		assert.Equal(t, ManualRow{Line: 2, Track: "Kick.wav", Pair: 2, Bus: "Beat"}, m.Rows[0], head)
	}
	for _, cell := range []string{"Paar 3", "Paire 3", "Coppia 3", "Par 3", "par. 3"} {
		n, ok := PairNumber(cell)
		assert.True(t, ok, cell)
		assert.Equal(t, 3, n, cell)
	}
}

func TestASlipOfAPairNumberIsRefused(t *testing.T) {
	read := func(pairs ...string) *Manual {
		m, err := ReadManual(strings.NewReader("track,pair\nKick," + strings.Join(pairs, "\nHat,") + "\n"))
		require.NoError(t, err)
		return m
	}
	assert.EqualError(t, read("1", "2", "99").Offer(8), "line 4: Hat is on pair 99, and there are 8")
	assert.EqualError(t, read("1", "2", "99").Offer(0), "line 4: Hat is on pair 99, though the table uses 3 pairs in all; mend the number, or say with --pairs how many there are")
	m := read("1", "2", "99")
	assert.NoError(t, m.Offer(100))
	assert.Len(t, m.Names, 100)
	assert.NoError(t, read("9", "10", "16").Offer(0), "the second half of sixteen pairs")
}

func TestPansAndGainsOfATable(t *testing.T) {
	m, err := ReadManual(strings.NewReader("track;pair;Pan;gain\nA;1;-0,5;-3,5 dB\nB;1;L;\nC;1;R30;+2\nD;1;50 l;0\nE;1;c;\nF;1;;\n"))
	require.NoError(t, err)
	var pans []any
	for _, r := range m.Rows {
		if r.Pan == nil {
			pans = append(pans, nil)
			continue
		}
		pans = append(pans, *r.Pan)
	}
	assert.Equal(t, []any{-0.5, -1.0, 0.3, -0.5, 0.0, nil}, pans)
	assert.Equal(t, []float64{-3.5, 0, 2}, []float64{m.Rows[0].GainDB, m.Rows[1].GainDB, m.Rows[2].GainDB})
	for _, bad := range []string{"A,1,2,", "A,1,LR,", "A,1,NaN,", "A,1,,loud", "A,1,,90"} {
		_, err := ReadManual(strings.NewReader("track,pair,pan,gain\n" + bad + "\n"))
		assert.ErrorContains(t, err, "line 2: ", bad)
	}
}
