package glossary

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/plan/sheet"
)

func TestGlossaryIsComplete(t *testing.T) {
	seen := map[string]bool{}
	for _, term := range Glossary() {
		v := reflect.ValueOf(term)
		for i := range v.NumField() {
			if name := v.Type().Field(i).Name; name != "Unit" {
				assert.NotEmpty(t, v.Field(i).String(), "%s of %s", name, term.Word)
			}
		}
		assert.False(t, seen[term.Word], "%s twice", term.Word)
		seen[term.Word] = true
	}
	for _, r := range sheet.FigureRows {
		assert.True(t, seen[r.Word], "figure %q is explained under %q", r.Name, r.Word)
	}
	assert.Len(t, LookUp("Crest-Factor"), 1)
	assert.Greater(t, len(LookUp("loudness")), 2)
	assert.Empty(t, LookUp("flux capacitor"))
	assert.Empty(t, LookUp(""))
}
