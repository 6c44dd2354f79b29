package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"foldout/plan/rig"
)

// asker asks questions until the answers make sense.
type asker struct {
	in  *bufio.Reader
	out io.Writer
}

var errNoAnswer = usagef("the answers ended before the questions did; give --outputs and the other flags where nobody can be asked")

// ask puts the questions of a rig to a person. An empty line takes the default in brackets.
func (a *rigAnswers) ask(in io.Reader, out io.Writer) (err error) {
	q := &asker{bufio.NewReader(in), out}
	fmt.Fprintln(out, "A few questions about the way of the mix out of the computer and back. Enter takes what stands in [brackets].")
	a.inputs, a.connectors, a.fullScale, a.names = nil, nil, nil, nil
	if a.name, err = q.text("What shall this rig be called?", "Studio"); err != nil {
		return err
	}
	for k := 1; ; k++ {
		if err := a.askInterface(q, k); err != nil {
			return err
		}
		more, err := q.word("Is there another interface with line outputs?", "no", "yes", "no")
		if err != nil {
			return err
		}
		if more == "no" {
			break
		}
	}
	n := len(a.outputs)
	hint := ""
	if n > 1 {
		hint = " (2:1/2 means outputs 1/2 of the second interface)"
	}
	if a.monitor, err = q.place("Which two outputs feed the speakers? none if the speakers hang on something else"+hint, "none", n, a.outputs, "outputs"); err != nil {
		return err
	}
	total := 0
	for _, o := range a.outputs {
		total += o
	}
	if a.summingName, err = q.text("What is the summing unit called?", "Summing unit"); err != nil {
		return err
	}
	if a.summing, err = q.number("How many inputs has it? (an even number)", max(2, total/2*2), 2, rig.MaxChannels, 2); err != nil {
		return err
	}
	if a.summingPlug, err = q.word("What connector have its inputs?", a.connectors[0], rig.Connectors...); err != nil {
		return err
	}
	if a.operating, err = q.level("Its operating level in dBu?", 4, -20, 20); err != nil {
		return err
	}
	if a.maxInput, err = q.level("Which level in dBu do its inputs take before they clip? (its manual says)", max(24, a.operating+1), a.operating+0.1, 40); err != nil {
		return err
	}
	last := "none"
	if i := a.inputs[0]; i >= 2 {
		last = fmt.Sprintf("%d/%d", i-1, i)
	}
	a.ret, err = q.place("On which two inputs does the sum come back?"+strings.ReplaceAll(hint, "outputs", "inputs"), last, n, a.inputs, "inputs")
	return err
}

func (a *rigAnswers) askInterface(q *asker, k int) error {
	name, err := q.text(fmt.Sprintf("Interface %d: what is it called?", k), fmt.Sprintf("Interface %d", k), a.names...)
	if err != nil {
		return err
	}
	outputs, err := q.number("How many line outputs has it?", 8, 1, rig.MaxChannels, 1)
	if err != nil {
		return err
	}
	connector, err := q.word("What connector have they? dsub is the 25-way D-type", rig.TRS, rig.Connectors...)
	if err != nil {
		return err
	}
	inputs, err := q.number("How many line inputs has it?", 8, 0, rig.MaxChannels, 1)
	if err != nil {
		return err
	}
	full, err := q.level("Its output level in dBu at 0 dBFS? (its manual says; +18 to +24 is usual)", 22, 5, 40)
	if err != nil {
		return err
	}
	a.names, a.outputs, a.connectors = append(a.names, name), append(a.outputs, outputs), append(a.connectors, connector)
	a.inputs, a.fullScale = append(a.inputs, inputs), append(a.fullScale, full)
	return nil
}

// line asks once. At the end of the answers it is an error.
func (q *asker) line(question, otherwise string) (string, error) {
	fmt.Fprintf(q.out, "%s [%s] ", question, otherwise)
	text, err := q.in.ReadString('\n')
	if err != nil && (text == "" || !errors.Is(err, io.EOF)) {
		fmt.Fprintln(q.out)
		if errors.Is(err, io.EOF) {
			return "", errNoAnswer
		}
		return "", err
	}
	if text = strings.TrimSpace(text); text == "" {
		return otherwise, nil
	}
	return text, nil
}

// until asks again until read accepts the answer.
func (q *asker) until(question, otherwise string, read func(string) error) error {
	for {
		text, err := q.line(question, otherwise)
		if err != nil {
			return err
		}
		if err := read(text); err == nil {
			return nil
		} else {
			fmt.Fprintf(q.out, "  %v\n", err)
		}
	}
}

func (q *asker) text(question, otherwise string, taken ...string) (answer string, err error) {
	err = q.until(question, otherwise, func(s string) error {
		if strings.ContainsFunc(s, func(r rune) bool { return r == 0xfffd || unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) }) || utf8.RuneCountInString(s) > 120 {
			return errors.New("want up to 120 printable characters")
		}
		if slices.ContainsFunc(taken, func(t string) bool { return strings.EqualFold(t, s) }) {
			return fmt.Errorf("%s is taken; the patch could not tell them apart", s)
		}
		answer = s
		return nil
	})
	return answer, err
}

func (q *asker) number(question string, otherwise, least, most, step int) (answer int, err error) {
	err = q.until(question, strconv.Itoa(otherwise), func(s string) error {
		n, err := strconv.Atoi(s)
		if err != nil || n < least || n > most || n%step != 0 {
			return fmt.Errorf("want a whole number from %d to %d%s", least, most, map[bool]string{true: ", an even one"}[step == 2])
		}
		answer = n
		return nil
	})
	return answer, err
}

func (q *asker) level(question string, otherwise, least, most float64) (answer float64, err error) {
	err = q.until(question, strconv.FormatFloat(otherwise, 'f', -1, 64), func(s string) error {
		s = strings.ReplaceAll(strings.TrimSpace(strings.TrimSuffix(strings.ToLower(s), "dbu")), ",", ".")
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !(v >= least && v <= most) {
			return fmt.Errorf("want a level from %+.4g to %+.4g dBu", least, most)
		}
		answer = v
		return nil
	})
	return answer, err
}

// word asks for one of a few words; the beginning of one is enough.
func (q *asker) word(question, otherwise string, words ...string) (answer string, err error) {
	err = q.until(question+" ("+strings.Join(words, ", ")+")", otherwise, func(s string) error {
		for _, w := range words {
			if strings.HasPrefix(w, strings.ToLower(s)) {
				answer = w
				return nil
			}
		}
		return fmt.Errorf("want one of %s", strings.Join(words, ", "))
	})
	return answer, err
}

// place asks for two channels of one of the interfaces, or none.
func (q *asker) place(question, otherwise string, interfaces int, channels []int, what string) (answer string, err error) {
	err = q.until(question, otherwise, func(s string) error {
		k, pair, err := place(s, interfaces)
		if err != nil {
			return err
		}
		if max(pair[0], pair[1]) > channels[k] || pair[0] == pair[1] && pair[0] != 0 {
			return fmt.Errorf("want two different %s from 1 to %d", what, channels[k])
		}
		answer = s
		return nil
	})
	return answer, err
}
