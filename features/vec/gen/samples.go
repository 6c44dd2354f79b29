package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
)

// cells is for any length of a cell: what is left over of eight is loaded under a mask, and zeros change no sum.
func cells() {
	kernel("cells", "func(dst *float64, x *float32, length, count int)", "is Cells for count cells of the given length.")
	dst, x, length, count := pointer("dst"), pointer("x"), pointer("length"), pointer("count")
	mask := magnitude()
	// The table is eight ones and eight zeros; read from 8 - rest on, it begins with as many ones as there are left over.
	table, rest, tail := GP64(), GP64(), YMM()
	LEAQ(words("ones", 0xFFFFFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0xFFFFFFFF,
		0, 0, 0, 0, 0, 0, 0, 0), table)
	MOVQ(length, rest)
	ANDQ(U8(7), rest)
	whole := GP64()
	MOVQ(length, whole)
	SUBQ(rest, whole)
	SHLQ(U8(2), rest)
	SUBQ(rest, table)
	VMOVUPS(at(table, 32), tail)

	Label("cell")
	sum, sum1, square, square1, abs, top := zero(), zero(), zero(), zero(), zero(), zero()
	add := func(v vector, low, high vector) {
		m := YMM()
		VANDPS(mask, v, m)
		VADDPS(m, abs, abs)
		VPMAXUD(m, top, top)
		VADDPD(low, sum, sum)
		VADDPD(high, sum1, sum1)
		VFMADD231PD(low, low, square)
		VFMADD231PD(high, high, square1)
	}
	n := GP64()
	MOVQ(whole, n)
	TESTQ(n, n)
	JEQ(LabelRef("tail"))
	Label("eight")
	low, high := doubles(at(x, 0))
	add(load(at(x, 0)), low, high)
	ADDQ(U8(32), x)
	SUBQ(U8(8), n)
	JNE(LabelRef("eight"))
	Label("tail")
	TESTQ(rest, rest)
	JEQ(LabelRef("end"))
	v, upper := YMM(), XMM()
	VMASKMOVPS(at(x, 0), tail, v)
	VEXTRACTF128(U8(1), v, upper)
	low, high = YMM(), YMM()
	VCVTPS2PD(v.AsX(), low)
	VCVTPS2PD(upper, high)
	add(v, low, high)
	ADDQ(rest, x)
	Label("end")
	VADDPD(sum1, sum, sum)
	VADDPD(square1, square, square)
	both, part := YMM(), XMM()
	VHADDPD(square, sum, both) // sum, square, sum, square
	VEXTRACTF128(U8(1), both, part)
	VADDPD(both.AsX(), part, part)
	VMOVUPD(part, at(dst, 0))
	t := total(abs)
	VCVTSS2SD(t, t, t)
	VMOVSD(t, at(dst, 16))
	VMOVSS(largest(top), at(dst, 24))
	ADDQ(U8(32), dst)
	DECQ(count)
	JNE(LabelRef("cell"))
	VZEROUPPER()
	RET()
}

// groups takes 32 samples a turn.
func groups() {
	kernel("groups", "func(sums, x *float32, before float32, n int) (power, slope float32)", "is Groups for n a multiple of 32.")
	sums, x, n := pointer("sums"), pointer("x"), pointer("n")
	carry, order := spread("before"), YMM()
	VMOVDQU(words("later", 7, 0, 1, 2, 3, 4, 5, 6), order)
	power, slope := [2]vector{zero(), zero()}, [2]vector{zero(), zero()}
	loop("loop", n, 32, func() {
		var v [4]vector
		for i := range v {
			v[i] = load(at(x, 32*i))
			VFMADD231PS(v[i], v[i], power[i%2])
			turned, d := YMM(), YMM()
			VPERMPS(v[i], order, turned)
			VBLENDPS(U8(1), carry, turned, d)
			VMOVAPS(turned, carry)
			VSUBPS(d, v[i], d)
			VFMADD231PS(d, d, slope[i%2])
		}
		VHADDPS(v[1], v[0], v[0])
		VHADDPS(v[3], v[2], v[2])
		VHADDPS(v[2], v[0], v[0])
		upper := XMM()
		VEXTRACTF128(U8(1), v[0], upper)
		VADDPS(v[0].AsX(), upper, upper)
		VMOVUPS(upper, at(sums, 0))
		ADDQ(U8(16), sums)
		ADDQ(U32(128), x)
	})
	VADDPS(power[1], power[0], power[0])
	VADDPS(slope[1], slope[0], slope[0])
	Store(total(power[0]), ReturnIndex(0))
	Store(total(slope[0]), ReturnIndex(1))
	VZEROUPPER()
	RET()
}

// dots makes eight outputs a turn, so that their sums are added up together.
func dots() {
	kernel("dots", "func(dst, x, filters *float32, taps *int32, n int)", "is Dots for n a multiple of 8.")
	dst, x, filters, taps, n := pointer("dst"), pointer("x"), pointer("filters"), pointer("taps"), pointer("n")
	loop("loop", n, 8, func() {
		var s [8]vector
		for i := range s {
			place, row := GP64(), GP64()
			MOVLQSX(at(taps, 8*i), place)
			MOVLQSX(at(taps, 8*i+4), row)
			SHLQ(U8(7), row)
			from := Mem{Base: x, Index: place, Scale: 4}
			weights := Mem{Base: filters, Index: row, Scale: 1}
			s[i] = YMM()
			VMULPS(weights, load(from), s[i])
			for k := 1; k < 4; k++ {
				VFMADD231PS(weights.Offset(32*k), load(from.Offset(32*k)), s[i])
			}
		}
		pair := func(a, b vector) vector { v := YMM(); VHADDPS(b, a, v); return v }
		low := pair(pair(s[0], s[1]), pair(s[2], s[3]))  // halves of outputs 0..3
		high := pair(pair(s[4], s[5]), pair(s[6], s[7])) // and of 4..7
		straight, crossed := YMM(), YMM()
		VPERM2F128(U8(0x20), high, low, straight)
		VPERM2F128(U8(0x31), high, low, crossed)
		VADDPS(crossed, straight, straight)
		VMOVUPS(straight, at(dst, 0))
		ADDQ(U8(32), dst)
		ADDQ(U8(64), taps)
	})
	VZEROUPPER()
	RET()
}

// quantise takes 16 samples a turn.
func quantise() {
	kernel("quantise", "func(code *int8, x *float32, gain float32, n int)", "is Quantise for n a multiple of 16.")
	code, x, n, gain := pointer("code"), pointer("x"), pointer("n"), spread("gain")
	sign, half := YMM(), YMM()
	VBROADCASTSS(words("sign", 0x80000000), sign)
	VBROADCASTSS(words("half", 0x3F000000), half)
	loop("loop", n, 16, func() {
		var w [2]vector
		for i := range w {
			v := load(at(x, 32*i))
			VMULPS(gain, v, v)
			w[i] = YMM()
			VANDPS(sign, v, w[i])
			VORPS(half, w[i], w[i])
			VADDPS(w[i], v, v)
			VCVTTPS2DQ(v, w[i])
		}
		VPACKSSDW(w[1], w[0], w[0]) // by halves: 0..3 8..11, 4..7 12..15
		VPERMQ(U8(0xD8), w[0], w[0])
		upper := XMM()
		VEXTRACTI128(U8(1), w[0], upper)
		VPACKSSWB(upper, w[0].AsX(), upper)
		VMOVDQU(upper, at(code, 0))
		ADDQ(U8(16), code)
		ADDQ(U8(64), x)
	})
	VZEROUPPER()
	RET()
}

func dequantise() {
	kernel("dequantise", "func(dst *float32, code *int8, gain float32, n int)", "is Dequantise.")
	dst, code, n, gain := pointer("dst"), pointer("code"), pointer("n"), spread("gain")
	loop("loop", n, 8, func() {
		v := YMM()
		VPMOVSXBD(at(code, 0), v)
		VCVTDQ2PS(v, v)
		VMULPS(gain, v, v)
		VMOVUPS(v, at(dst, 0))
		ADDQ(U8(8), code)
		ADDQ(U8(32), dst)
	})
	VZEROUPPER()
	RET()
}

// halve takes the two samples of a pair by their parity, eight pairs and the eight one pair later; the order this leaves
// within halves of registers is put right at the end.
func halve() {
	kernel("halve", "func(dst, x *float32, n int)", "is Halve.")
	dst, x, n := pointer("dst"), pointer("x"), pointer("n")
	outer, inner := YMM(), YMM()
	VBROADCASTSS(words("eighth", 0x3E000000), outer)
	VBROADCASTSS(words("threeEighths", 0x3EC00000), inner)
	parts := func(from Mem) (even, odd vector) {
		even, odd = YMM(), YMM()
		a, b := load(from), load(from.Offset(32))
		VSHUFPS(U8(0x88), b, a, even)
		VSHUFPS(U8(0xDD), b, a, odd)
		return even, odd
	}
	loop("loop", n, 8, func() {
		e0, o0 := parts(at(x, 0))
		e1, o1 := parts(at(x, 8))
		VADDPS(o1, e0, e0)
		VADDPS(e1, o0, o0)
		VMULPS(inner, o0, o0)
		VFMADD231PS(outer, e0, o0)
		VPERMPD(U8(0xD8), o0, o0)
		VMOVUPS(o0, at(dst, 0))
		ADDQ(U8(32), dst)
		ADDQ(U8(64), x)
	})
	VZEROUPPER()
	RET()
}
