package wavfile

import (
	"bytes"
	"encoding/binary"
	"math"
	"strings"
	"unicode/utf8"
)

// Bext is the broadcast extension chunk of EBU Tech 3285. Text is UTF-8 here; the standard means ASCII, and files hold
// UTF-8 or Latin-1, which are told apart on reading. On writing, text longer than its field is cut at a whole letter.
type Bext struct {
	Description         string // 256 bytes at most
	Originator          string // 32
	OriginatorReference string // 32
	OriginationDate     string // yyyy-mm-dd
	OriginationTime     string // hh:mm:ss
	TimeReference       int64  // first sample of the file, in samples since midnight
	CodingHistory       string // any length, lines end in CR LF
}

// Fields of the chunk up to the coding history, EBU Tech 3285 v2 section 2.3.
const (
	bextDescription = 0
	bextOriginator  = 256
	bextReference   = 288
	bextDate        = 320
	bextTime        = 330
	bextTimeRef     = 338
	bextVersion     = 346
	bextUMID        = 348
	bextHistory     = 602
	bextMaxBytes    = 1 << 20 // of coding history and all; more is no text
)

// parseBext reads a payload that may be cut short. A time reference beyond the range of int64 is no time and reads 0.
func parseBext(p []byte) *Bext {
	full := make([]byte, max(len(p), bextHistory))
	copy(full, p)
	ref := binary.LittleEndian.Uint64(full[bextTimeRef:])
	if ref > math.MaxInt64 {
		ref = 0
	}
	return &Bext{
		Description:         fieldText(full[bextDescription:bextOriginator]),
		Originator:          fieldText(full[bextOriginator:bextReference]),
		OriginatorReference: fieldText(full[bextReference:bextDate]),
		OriginationDate:     fieldText(full[bextDate:bextTime]),
		OriginationTime:     fieldText(full[bextTime:bextTimeRef]),
		TimeReference:       int64(ref),
		CodingHistory:       fieldText(full[bextHistory:]),
	}
}

// payload is the chunk in version 1: no UMID, no loudness figures.
func (b *Bext) payload() []byte {
	p := make([]byte, bextHistory, bextHistory+len(b.CodingHistory))
	copy(p[bextDescription:bextOriginator], cutText(b.Description, bextOriginator-bextDescription))
	copy(p[bextOriginator:bextReference], cutText(b.Originator, bextReference-bextOriginator))
	copy(p[bextReference:bextDate], cutText(b.OriginatorReference, bextDate-bextReference))
	copy(p[bextDate:bextTime], cutText(b.OriginationDate, bextTime-bextDate))
	copy(p[bextTime:bextTimeRef], cutText(b.OriginationTime, bextTimeRef-bextTime))
	binary.LittleEndian.PutUint64(p[bextTimeRef:], uint64(b.TimeReference))
	binary.LittleEndian.PutUint16(p[bextVersion:], 1)
	return append(p, b.CodingHistory...)
}

// fieldText is the text before the first zero byte.
func fieldText(b []byte) string {
	if i := bytes.IndexByte(b, 0); i >= 0 {
		b = b[:i]
	}
	if utf8.Valid(b) {
		return strings.TrimRight(string(b), " ")
	}
	runes := make([]rune, len(b))
	for i, c := range b {
		runes[i] = rune(c)
	}
	return strings.TrimRight(string(runes), " ")
}

// cutText shortens s to at most n bytes without splitting a letter.
func cutText(s string, n int) string {
	if len(s) <= n {
		return s
	}
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n]
}
