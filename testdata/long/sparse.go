//go:build linux

package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"os"
	"path/filepath"
)

// head says how a file states its length.
type head int

const (
	plain   head = iota
	rf64         // 64-bit sizes in a chunk ds64 (EBU Tech 3306)
	wrapped      // the low 32 bits of sizes that need more, as programs leave them that know only plain WAV
)

// sparse is a file of 24 bits: ten seconds of plucked tones, then nothing to its end.
type sparse struct {
	name     string
	rate     int
	channels int
	frames   int64
	head     head
	hz       float64 // 0 for 110
}

// write makes the file in a folder. What is silent takes no room on the disk.
func (s sparse) write(folder string) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	data := s.frames * int64(s.channels) * 3
	var b bytes.Buffer
	put := func(values ...any) {
		for _, v := range values {
			if text, ok := v.(string); ok {
				b.WriteString(text)
				continue
			}
			binary.Write(&b, binary.LittleEndian, v) //nolint:errcheck // a buffer takes all
		}
	}
	pad := data & 1
	if s.head == rf64 {
		put("RF64", uint32(math.MaxUint32), "WAVE", "ds64", uint32(28), uint64(4+36+24+8+data+pad), uint64(data), uint64(s.frames), uint32(0))
	} else {
		put("RIFF", uint32(4+24+8+data+pad), "WAVE")
	}
	put("fmt ", uint32(16), uint16(1), uint16(s.channels), uint32(s.rate), uint32(s.rate*s.channels*3), uint16(s.channels*3), uint16(24), "data")
	if s.head == rf64 {
		put(uint32(math.MaxUint32))
	} else {
		put(uint32(data))
	}
	hz := s.hz
	if hz == 0 {
		hz = 110
	}
	for i := range min(int64(s.rate)*10, s.frames, 8<<20/int64(s.channels)) {
		t := float64(i) / float64(s.rate)
		v := int32(0.3 * math.Exp(-4*math.Mod(t, 0.5)) * math.Sin(2*math.Pi*hz*t) * (1 << 23))
		for range s.channels {
			b.Write([]byte{byte(v), byte(v >> 8), byte(v >> 16)})
		}
	}
	f, err := os.Create(filepath.Join(folder, s.name))
	if err != nil {
		return err
	}
	headBytes := map[bool]int64{true: 12 + 36 + 24 + 8, false: 12 + 24 + 8}[s.head == rf64]
	_, err = f.Write(b.Bytes())
	return errors.Join(err, f.Truncate(headBytes+data+pad), f.Close())
}
