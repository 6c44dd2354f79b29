package sheet

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Headings of the columns of a table made by hand, in lower case without spaces, signs and accents: English, German, French,
// Spanish, Italian, Portuguese, Dutch.
var (
	trackHeadings = []string{
		"track", "file", "filename", "trackname", "tracks", "audiofile",
		"spur", "datei", "dateiname", "spurname", "audiodatei",
		"piste", "fichier", "nomdufichier", "nomdelapiste", "nomdepiste",
		"pista", "archivo", "fichero", "nombredelarchivo", "nombredelapista",
		"traccia", "nomefile", "nomedelfile", "nometraccia",
		"faixa", "arquivo", "ficheiro", "nomedoarquivo", "nomedoficheiro", "nomedafaixa",
		"spoor", "bestand", "bestandsnaam", "spoornaam",
		"name", "nom", "nombre", "nome", "naam",
	}
	pairHeadings = []string{
		"pair", "pairs", "outputpair", "stereopair", "outputs", "output", "stem",
		"paar", "stereopaar", "ausgangspaar", "ausgange", "ausgang",
		"paire", "pairestereo", "pairedesorties", "sorties", "sortie",
		"par", "parestereo", "pardesalidas", "salidas", "salida",
		"coppia", "coppiastereo", "coppiadiuscite", "uscite", "uscita",
		"pardesaidas", "saidas", "saida",
		"uitgangspaar", "uitgangen", "uitgang",
		"pairno", "pairnr", "pairnumber", "paarnr", "paarnummer", "numerodepaire", "numerodepar", "numerocoppia", "outputpairs",
	}
	busHeadings  = []string{"bus", "group", "buss", "gruppe", "groupe", "grupo", "gruppo", "barramento", "groep"}
	panHeadings  = []string{"pan", "panorama", "panoramica"}
	gainHeadings = []string{"gain", "gaindb", "verstarkung", "ganancia", "guadagno", "ganho"}
	nameHeadings = []string{"pairname", "stemname", "paarname", "namedespaars", "nomdelapaire", "nombredelpar", "nomecoppia", "nomedellacoppia", "nomedopar", "paarnaam", "naamvanhetpaar"}
)

// column finds the first column whose heading is one of those wanted, the ones wanted most first; -1 for none.
func column(head, wanted []string) int {
	for _, w := range wanted {
		if i := slices.IndexFunc(head, func(h string) bool { return plainHeading(h) == w }); i >= 0 {
			return i
		}
	}
	return -1
}

// plainHeading keeps the letters of a heading, in lower case and without accents.
func plainHeading(text string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' {
			return r
		}
		return -1
	}, strings.Map(unicode.ToLower, norm.NFD.String(text)))
}
