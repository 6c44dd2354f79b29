package sheet

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
)

// Offset says where a file begins, for files that start late and carry no time stamp.
type Offset struct {
	File  string `json:"file"`          // as in Placement
	Start int64  `json:"start_samples"` // samples of the file's own rate after the session's zero, at which its first sample lies
}

// StartRow is one line of a table of starts.
type StartRow struct {
	Line    int    // in the file, from 1
	Track   string // as somebody calls it
	Seconds float64
	Samples int64 // where the table counts samples
	counted bool
}

// At is the start in samples of a file of that rate.
func (r *StartRow) At(rateHz int) int64 {
	if r.counted {
		return r.Samples
	}
	return int64(math.Round(r.Seconds * float64(rateHz)))
}

// LatestStartS is the latest start that makes sense: a day of timecode.
const LatestStartS = 86400

var (
	startHeadings   = []string{"start", "starts", "starttime", "startseconds", "startsec", "offset", "offsets", "offsetseconds", "position", "beginn", "startzeit", "versatz", "debut", "decalage", "inicio", "desfase", "inizio", "begin", "begintijd"}
	sampleHeadings  = []string{"startsamples", "startsample", "startinsamples", "offsetsamples", "offsetinsamples", "samples", "sample"}
	clockPattern    = regexp.MustCompile(`^(?:(\d{1,2}):)?(\d{1,3}):(\d{1,2}(?:[.,]\d+)?)$`)
	secondsPattern  = regexp.MustCompile(`(?i)^\+?(\d+(?:[.,]\d+)?)\s*(?:s|sec|seconds)?$`)
	samplesPattern  = regexp.MustCompile(`(?i)^\+?(\d+)\s*(?:smp|samples?)$`)
	negativePattern = regexp.MustCompile(`^[-\x{2212}]`)
)

// LoadStarts reads a table of starts from a file; errors name the file.
func LoadStarts(path string) ([]StartRow, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close() //nolint:errcheck // nothing was written
	rows, err := ReadStarts(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return rows, nil
}

// ReadStarts reads a table with the columns file and start, in any order, encoded and separated as ReadManual takes it. A
// start is seconds ("12.5"), minutes or hours ("1:02.5", "0:01:02.5") or samples ("600000 samples", or any number in a
// column headed start_samples). Rows without a start are left out.
func ReadStarts(r io.Reader) ([]StartRow, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxManualBytes+1))
	if err != nil {
		return nil, err
	}
	if len(data) > maxManualBytes {
		return nil, fmt.Errorf("more than %d MB are no table of starts", maxManualBytes>>20)
	}
	text, _, err := decodeText(data)
	if err != nil {
		return nil, err
	}
	for _, comma := range ",;\t|" {
		rows, err := readTable(text, comma)
		if len(rows) == 0 {
			continue
		}
		head := rows[0].cells
		track, start, counted := column(head, trackHeadings), column(head, startHeadings), false
		if start < 0 {
			start, counted = column(head, sampleHeadings), true
		}
		if track < 0 || start < 0 {
			continue
		}
		if err != nil {
			return nil, err
		}
		return startRows(rows[1:], len(head), track, start, counted)
	}
	first, _, _ := strings.Cut(text, "\n")
	return nil, fmt.Errorf("no header with the columns file and start was found; the first line reads %q. Want a table such as\n  file,start\n  Late Gtr.wav,0:01:12.5", cut(first, 60))
}

func startRows(table []tableRow, width, track, start int, counted bool) ([]StartRow, error) {
	var rows []StartRow
	for _, r := range table {
		row, line := r.cells, r.line
		cell := func(i int) string {
			if i >= len(row) {
				return ""
			}
			return strings.Join(strings.Fields(row[i]), " ")
		}
		for i := width; i < len(row); i++ {
			if cell(i) != "" {
				return nil, fmt.Errorf("line %d has more cells than the header; write decimals with a point, or in quotes", line)
			}
		}
		if cell(track) == "" || cell(start) == "" {
			continue
		}
		r := StartRow{Line: line, Track: cell(track)}
		if err := r.parse(cell(start), counted); err != nil {
			return nil, fmt.Errorf("line %d, %s: %w", line, r.Track, err)
		}
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		return nil, errors.New("the table has a header but no starts")
	}
	return rows, nil
}

// parse reads the text of a start; in a column of samples a bare number is samples.
func (r *StartRow) parse(text string, counted bool) (err error) {
	number := func(t string) float64 {
		v, e := strconv.ParseFloat(strings.Replace(t, ",", ".", 1), 64)
		err = errors.Join(err, e)
		return v
	}
	m := clockPattern.FindStringSubmatch(text)
	switch {
	case negativePattern.MatchString(text):
		return fmt.Errorf("start %s: want 0 or later; let the earliest file begin at 0 and give the starts of the others", text)
	case samplesPattern.MatchString(text), counted && regexp.MustCompile(`^\+?\d+$`).MatchString(text):
		digits := strings.TrimFunc(text, func(c rune) bool { return c < '0' || c > '9' })
		if r.Samples, err = strconv.ParseInt(digits, 10, 64); err == nil && r.Samples > LatestStartS*768000 {
			err = fmt.Errorf("start %s is later than a day", text)
		}
		r.counted = true
		return err
	case m != nil:
		if m[1] != "" {
			r.Seconds = 3600 * number(m[1])
		}
		seconds := number(m[3])
		if minutes := number(m[2]); seconds >= 60 || m[1] != "" && minutes >= 60 {
			return fmt.Errorf("start %s: want at most 59 minutes and 59 seconds after the colon", text)
		} else {
			r.Seconds += 60*minutes + seconds
		}
	case secondsPattern.MatchString(text) && !counted:
		r.Seconds = number(secondsPattern.FindStringSubmatch(text)[1])
	default:
		return fmt.Errorf("start %q: want seconds (12.5), hours, minutes and seconds (0:01:12.5) or samples (600000 samples)", text)
	}
	if err == nil && r.Seconds > LatestStartS {
		err = fmt.Errorf("start %s is later than a day", text)
	}
	return err
}
