package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

// last4 is a last stage of radix 4 on blocks.
func last4() {
	TEXT("last4AVX2", NOSPLIT, "func(out, in *float32, size int)")
	Pragma("noescape")
	Doc("last4AVX2 is last4 on blocks.")
	size := Load(Param("size"), GP64())
	SHLQ(U8(1), size) // bytes of size/4 numbers
	in, out := newRows(Load(Param("in"), GP64()), size), newRows4(Load(Param("out"), GP64()), size)
	end := GP64()
	LEAQ(Mem{Base: in.base, Index: in.stride, Scale: 1}, end)
	Label("loop")
	get := func(k int) pair { return pair{load(in.at(k, 0)), load(in.at(k, half))} }
	put := func(k int, re, im vector) {
		VMOVUPS(re, out.at(k, 0))
		VMOVUPS(im, out.at(k, half))
	}
	x0, x2 := get(0), get(2)
	s, d := pair{add(x0.re, x2.re), add(x0.im, x2.im)}, pair{sub(x0.re, x2.re), sub(x0.im, x2.im)}
	x1, x3 := get(1), get(3)
	u, v := pair{add(x1.re, x3.re), add(x1.im, x3.im)}, pair{sub(x1.re, x3.re), sub(x1.im, x3.im)}
	put(0, add(s.re, u.re), add(s.im, u.im))
	put(2, sub(s.re, u.re), sub(s.im, u.im))
	put(1, add(d.re, v.im), sub(d.im, v.re))
	put(3, sub(d.re, v.im), add(d.im, v.re))
	in.advance(U8(block))
	out.advance(U8(block))
	CMPQ(in.base, end)
	JB(LabelRef("loop"))
	VZEROUPPER()
	RET()
}

// newRows4 gives each set of rows its own copy of the stride, as newRows makes a multiple of it.
func newRows4(base, stride Register) rows {
	own := GP64()
	MOVQ(stride, own)
	return newRows(base, own)
}

// last2 is a last stage of radix 2 on blocks.
func last2() {
	TEXT("last2AVX2", NOSPLIT, "func(out, in *float32, size int)")
	Pragma("noescape")
	Doc("last2AVX2 is last2 on blocks.")
	size := Load(Param("size"), GP64())
	SHLQ(U8(2), size) // bytes of size/2 numbers
	in, out := Load(Param("in"), GP64()), Load(Param("out"), GP64())
	end := GP64()
	LEAQ(Mem{Base: in, Index: size, Scale: 1}, end)
	Label("loop")
	for _, disp := range []int{0, half} {
		near, far := Mem{Base: in, Disp: disp}, Mem{Base: in, Index: size, Scale: 1, Disp: disp}
		x := load(near)
		VMOVUPS(add(x, far), Mem{Base: out, Disp: disp})
		VMOVUPS(sub(x, far), Mem{Base: out, Index: size, Scale: 1, Disp: disp})
	}
	ADDQ(U8(block), in)
	ADDQ(U8(block), out)
	CMPQ(in, end)
	JB(LabelRef("loop"))
	VZEROUPPER()
	RET()
}

// mirror walks over the spectrum in blocks from the front, and from the back in reverse, so that bin k meets bin -k.
// What lies opposite to a block is the first number of the block reached before and seven of the next one down.
type mirror struct {
	front, back Register
	order       vector
	last        pair // of the block reached before, put in order
}

func newMirror(size Register) *mirror {
	m := &mirror{front: Load(Param("z"), GP64()), back: GP64(), order: YMM()}
	VMOVDQU(turnAround(), m.order)
	m.last = pair{YMM(), YMM()}
	VPERMPS(Mem{Base: m.front}, m.order, m.last.re)
	VPERMPS(Mem{Base: m.front, Disp: half}, m.order, m.last.im)
	SHLQ(U8(3), size)
	LEAQ(Mem{Base: m.front, Index: size, Scale: 1, Disp: -block}, m.back)
	return m
}

// next gives the numbers opposite to the block at front.
func (m *mirror) next() pair {
	re, im := YMM(), YMM()
	VPERMPS(Mem{Base: m.back}, m.order, re)
	VPERMPS(Mem{Base: m.back, Disp: half}, m.order, im)
	VBLENDPS(U8(1), m.last.re, re, m.last.re)
	VBLENDPS(U8(1), m.last.im, im, m.last.im)
	opposite := pair{YMM(), YMM()}
	VMOVAPS(m.last.re, opposite.re)
	VMOVAPS(m.last.im, opposite.im)
	VMOVAPS(re, m.last.re)
	VMOVAPS(im, m.last.im)
	return opposite
}

// loop ends a turn.
func (m *mirror) loop(label string) {
	ADDQ(U8(block), m.front)
	SUBQ(U8(block), m.back)
	CMPQ(m.front, m.back)
	JB(LabelRef(label))
	VZEROUPPER()
	RET()
}

// turnAround is the order 0, 7, 6 ... 1 for VPERMPS.
func turnAround() Mem {
	const name = "turnAround"
	if _, made := constants[name]; !made {
		constants[name] = GLOBL(name, RODATA|NOPTR)
		for i := range 8 {
			DATA(4*i, U32((8-i)%8))
		}
	}
	return constants[name]
}

// power is the summed power of the two signals packed.
func power() {
	TEXT("powerAVX2", NOSPLIT, "func(dst, z *float32, size int, keep float32)")
	Pragma("noescape")
	Doc("powerAVX2 sets dst[k] to keep*dst[k] + |z[k]|^2 + |z[-k]|^2 for k = 0..size/2-1. keep is 0 or 1.")
	m := newMirror(Load(Param("size"), GP64()))
	dst := Load(Param("dst"), GP64())
	keep := spreadParam("keep")
	Label("loop")
	far := m.next()
	sum := mul(far.re, far.re)
	VFMADD231PS(far.im, far.im, sum)
	for _, disp := range []int{0, half} {
		near := load(Mem{Base: m.front, Disp: disp})
		VFMADD231PS(near, near, sum)
	}
	before := load(Mem{Base: dst})
	VANDPS(keep, before, before)
	VADDPS(before, sum, sum)
	VMOVUPS(sum, Mem{Base: dst})
	ADDQ(U8(half), dst)
	m.loop("loop")
}

// spreadParam makes a mask of a parameter: all ones where it is not 0.
func spreadParam(name string) vector {
	x := XMM()
	Load(Param(name), x)
	v, zero := YMM(), YMM()
	VBROADCASTSS(x, v)
	VXORPS(zero, zero, zero)
	VCMPPS(U8(4), zero, v, v)
	return v
}

// powers is the power of each of the two signals packed.
func powers() {
	TEXT("powersAVX2", NOSPLIT, "func(a, b, z *float32, size int)")
	Pragma("noescape")
	Doc("powersAVX2 sets a[k] and b[k], k = 0..size/2-1, to the one-sided powers of the two real signals packed in z.")
	m := newMirror(Load(Param("size"), GP64()))
	a, b := Load(Param("a"), GP64()), Load(Param("b"), GP64())
	oneHalf := spread(constant("half", 0.5))
	Label("loop")
	far := m.next()
	near := pair{load(Mem{Base: m.front}), load(Mem{Base: m.front, Disp: half})}
	sr, dr := add(near.re, far.re), sub(near.re, far.re)
	si, di := add(near.im, far.im), sub(near.im, far.im)
	for _, s := range []struct {
		x, y vector
		to   Register
	}{{sr, di, a}, {si, dr, b}} {
		sum := mul(s.x, s.x)
		VFMADD231PS(s.y, s.y, sum)
		VMOVUPS(mul(sum, oneHalf), Mem{Base: s.to})
		ADDQ(U8(half), s.to)
	}
	m.loop("loop")
}

// separate is the spectra of the two signals packed.
func separate() {
	TEXT("separateAVX2", NOSPLIT, "func(dst, z *float32, size int)")
	Pragma("noescape")
	Doc("separateAVX2 sets four rows of size/2 numbers to the bins 0..size/2-1 of the spectra of the two real signals packed",
		"in z: real and imaginary parts of the first, then of the second.")
	size := Load(Param("size"), GP64())
	row := GP64()
	MOVQ(size, row)
	SHLQ(U8(1), row)
	m := newMirror(size)
	dst, row3 := Load(Param("dst"), GP64()), GP64()
	LEAQ(Mem{Base: row, Index: row, Scale: 2}, row3)
	oneHalf := spread(constant("half", 0.5))
	Label("loop")
	far := m.next()
	near := pair{load(Mem{Base: m.front}), load(Mem{Base: m.front, Disp: half})}
	VMOVUPS(mul(add(near.re, far.re), oneHalf), Mem{Base: dst})
	VMOVUPS(mul(sub(near.im, far.im), oneHalf), Mem{Base: dst, Index: row, Scale: 1})
	VMOVUPS(mul(add(near.im, far.im), oneHalf), Mem{Base: dst, Index: row, Scale: 2})
	VMOVUPS(mul(sub(far.re, near.re), oneHalf), Mem{Base: dst, Index: row3, Scale: 1})
	ADDQ(U8(half), dst)
	m.loop("loop")
}
