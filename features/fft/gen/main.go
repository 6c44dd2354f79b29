// Command gen writes the vector kernels of package fft for amd64 (AVX2 and FMA) with avo. Run it by go generate in the
// package's folder.
//
// Complex numbers lie in blocks of eight: eight real parts, then the eight imaginary parts, 64 bytes in all. A kernel
// handles a block at a time, so real and imaginary parts are whole registers and share their addresses.
package main

import (
	"math"

	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

const (
	block = 64 // bytes of eight complex numbers
	half  = 32 // bytes of their real parts
)

// vector is a register of eight float32.
type vector = VecVirtual

// pair is eight complex numbers.
type pair struct{ re, im vector }

// rows addresses eight arrays at equal distances: row k is at base + k*stride.
type rows struct{ base, base3, stride, stride3 GPVirtual }

func newRows(base Register, stride Register) rows {
	r := rows{base.(GPVirtual), GP64(), stride.(GPVirtual), GP64()}
	LEAQ(Mem{Base: r.stride, Index: r.stride, Scale: 2}, r.stride3)
	LEAQ(Mem{Base: r.base, Index: r.stride3, Scale: 1}, r.base3)
	return r
}

// at is the place disp bytes into row k.
func (r rows) at(k, disp int) Mem {
	m := Mem{Base: r.base, Disp: disp}
	switch k {
	case 3, 5, 6, 7:
		m.Base = r.base3
	}
	switch k {
	case 1, 2, 4:
		m.Index, m.Scale = r.stride, uint8(k)
	case 5, 7:
		m.Index, m.Scale = r.stride, uint8(k-3)
	case 6:
		m.Index, m.Scale = r.stride3, 1
	}
	return m
}

// advance moves all rows on by n bytes.
func (r rows) advance(n Op) {
	ADDQ(n, r.base)
	ADDQ(n, r.base3)
}

func load(m Op) vector   { v := YMM(); VMOVUPS(m, v); return v }
func spread(m Op) vector { v := YMM(); VBROADCASTSS(m, v); return v }
func add(a, b Op) vector { v := YMM(); VADDPS(b, a, v); return v }
func sub(a, b Op) vector { v := YMM(); VSUBPS(b, a, v); return v }
func mul(a, b Op) vector { v := YMM(); VMULPS(b, a, v); return v }

// plus and minus are a +- h*b.
func plus(a, h, b vector) vector  { v := YMM(); VMOVAPS(a, v); VFMADD231PS(h, b, v); return v }
func minus(a, h, b vector) vector { v := YMM(); VMOVAPS(a, v); VFNMADD231PS(h, b, v); return v }

// turned is z*w.
func turned(z pair, wr, wi Op) pair {
	re, im := mul(z.im, wi), mul(z.im, wr)
	VFMSUB231PS(wr, z.re, re)
	VFMADD231PS(wi, z.re, im)
	return pair{re, im}
}

// butterfly8 is the sum over k = 0..7 of row k times exp(-2 pi i jk/8), handed to put for each j. It asks twice for the
// rows, by pairs (k, k+4): once for their sums and once for their differences, as sixteen registers do not hold both.
func butterfly8(root vector, sums, differences func(k int) pair, put func(j int, z pair)) {
	b0, b2 := sums(0), sums(2)
	d0 := pair{add(b0.re, b2.re), add(b0.im, b2.im)}
	d1 := pair{sub(b0.re, b2.re), sub(b0.im, b2.im)}
	b1, b3 := sums(1), sums(3)
	d2 := pair{add(b1.re, b3.re), add(b1.im, b3.im)}
	d3 := pair{sub(b1.im, b3.im), sub(b3.re, b1.re)}
	put(0, pair{add(d0.re, d2.re), add(d0.im, d2.im)})
	put(4, pair{sub(d0.re, d2.re), sub(d0.im, d2.im)})
	put(2, pair{add(d1.re, d3.re), add(d1.im, d3.im)})
	put(6, pair{sub(d1.re, d3.re), sub(d1.im, d3.im)})

	c0, c2 := differences(0), differences(2)
	d0 = pair{add(c0.re, c2.im), sub(c0.im, c2.re)}
	d1 = pair{sub(c0.re, c2.im), add(c0.im, c2.re)}
	s1, s3 := differences(1), differences(3)
	u, v := add(s1.re, s1.im), sub(s1.im, s1.re)
	p, q := sub(s3.im, s3.re), add(s3.re, s3.im)
	d2 = pair{add(u, p), sub(v, q)} // times the root of 1/2
	d3 = pair{add(v, q), sub(p, u)}
	put(1, pair{plus(d0.re, root, d2.re), plus(d0.im, root, d2.im)})
	put(5, pair{minus(d0.re, root, d2.re), minus(d0.im, root, d2.im)})
	put(3, pair{plus(d1.re, root, d3.re), plus(d1.im, root, d3.im)})
	put(7, pair{minus(d1.re, root, d3.re), minus(d1.im, root, d3.im)})
}

func main() {
	ConstraintExpr("amd64,!purego")
	first8()
	stage8("middle8", true)
	stage8("last8", false)
	last4()
	last2()
	power()
	powers()
	separate()
	Generate()
}

// constants holds what has been made, so that kernels share it.
var constants = map[string]Mem{}

// constant is a float32 in memory.
func constant(name string, value float32) Mem {
	if _, made := constants[name]; !made {
		constants[name] = ConstData(name, F32(value))
	}
	return constants[name]
}

func rootOfHalf() vector { return spread(constant("sqrtHalf", math.Sqrt2/2)) }

// stage8 is a stage of radix 8 on blocks: with twiddle factors, fourteen numbers a group, or without.
func stage8(name string, twiddles bool) {
	TEXT(name+"AVX2", NOSPLIT, "func(out, in, twiddle *float32, size, stride int)")
	Pragma("noescape")
	Doc(name + "AVX2 is " + name + " on blocks; stride is a multiple of 8.")
	in := newRows(Load(Param("in"), GP64()), Load(Param("size"), GP64())) // size/8 numbers of 8 bytes
	step := Load(Param("stride"), GP64())
	SHLQ(U8(3), step)
	out := newRows(Load(Param("out"), GP64()), step)
	var tw GPVirtual
	if twiddles {
		tw = Load(Param("twiddle"), GP64()).(GPVirtual)
	}
	end := GP64()
	LEAQ(Mem{Base: in.base, Index: in.stride, Scale: 1}, end)
	skip, inner := GP64(), GP64()
	IMUL3Q(U8(7), out.stride, skip)
	root := rootOfHalf()

	Label("group")
	MOVQ(out.stride, inner)
	Label("block")
	take := func(op func(a, b Op) vector) func(k int) pair {
		return func(k int) pair {
			return pair{op(load(in.at(k, 0)), in.at(k+4, 0)), op(load(in.at(k, half)), in.at(k+4, half))}
		}
	}
	butterfly8(root, take(add), take(sub), func(j int, z pair) {
		if twiddles && j > 0 {
			at := Mem{Base: tw, Disp: 8 * (j - 1)}
			z = turned(z, spread(at), spread(at.Offset(4)))
		}
		VMOVUPS(z.re, out.at(j, 0))
		VMOVUPS(z.im, out.at(j, half))
	})
	in.advance(U8(block))
	out.advance(U8(block))
	SUBQ(U8(block), inner)
	JNE(LabelRef("block"))
	out.advance(skip)
	if twiddles {
		ADDQ(U8(56), tw)
	}
	CMPQ(in.base, end)
	JB(LabelRef("group"))
	VZEROUPPER()
	RET()
}

// first8 is the first stage: it applies the window, packs two real signals, and turns rows of eight numbers into columns
// by way of the stack.
func first8() {
	TEXT("first8AVX2", NOSPLIT, "func(out, a, b, window, twiddle *float32, size int)")
	Pragma("noescape")
	Doc("first8AVX2 is first8 with its result in blocks. Twiddle factors come by eight groups: for each of the seven,",
		"eight real parts and eight imaginary parts.")
	size := Load(Param("size"), GP64())
	SHRQ(U8(1), size) // bytes of size/8 numbers
	a := newRows(Load(Param("a"), GP64()), size)
	same := func(param string) rows {
		r := rows{Load(Param(param), GP64()).(GPVirtual), GP64(), a.stride, a.stride3}
		LEAQ(Mem{Base: r.base, Index: r.stride3, Scale: 1}, r.base3)
		return r
	}
	b, w := same("b"), same("window")
	out, tw := Load(Param("out"), GP64()), Load(Param("twiddle"), GP64())
	end := GP64()
	LEAQ(Mem{Base: a.base, Index: a.stride, Scale: 1}, end)
	scratch := AllocLocal(8 * block)
	root := rootOfHalf()

	Label("loop")
	take := func(op func(ops ...Op)) func(k int) pair {
		return func(k int) pair {
			near, far := load(w.at(k, 0)), load(w.at(k+4, 0))
			re, im := mul(near, a.at(k, 0)), mul(near, b.at(k, 0))
			op(a.at(k+4, 0), far, re)
			op(b.at(k+4, 0), far, im)
			return pair{re, im}
		}
	}
	butterfly8(root, take(VFMADD231PS), take(VFNMADD231PS), func(j int, z pair) {
		if j > 0 {
			at := Mem{Base: tw, Disp: block * (j - 1)}
			z = turned(z, at, at.Offset(half))
		}
		VMOVUPS(z.re, scratch.Offset(half*j))
		VMOVUPS(z.im, scratch.Offset(8*half+half*j))
	})
	for part := range 2 { // real, imaginary
		transpose(scratch.Offset(8*half*part), Mem{Base: out, Disp: half * part})
	}
	a.advance(U8(half))
	b.advance(U8(half))
	w.advance(U8(half))
	ADDQ(U32(7*block), tw)
	ADDQ(U32(8*block), out)
	CMPQ(a.base, end)
	JB(LabelRef("loop"))
	VZEROUPPER()
	RET()
}

// transpose writes the columns of the eight rows at from, 32 bytes each, to places a block apart.
func transpose(from, to Mem) {
	for h := range 2 {
		var t [4]vector
		for k := range t {
			t[k] = YMM()
			VBROADCASTF128(from.Offset(half*k+16*h), t[k])
			VINSERTF128(U8(1), from.Offset(half*(k+4)+16*h), t[k], t[k])
		}
		var u [4]vector
		for k := range u {
			u[k] = YMM()
		}
		VUNPCKLPS(t[1], t[0], u[0])
		VUNPCKHPS(t[1], t[0], u[1])
		VUNPCKLPS(t[3], t[2], u[2])
		VUNPCKHPS(t[3], t[2], u[3])
		for k := range 4 {
			column := YMM()
			VSHUFPS(U8([]int{0x44, 0xEE}[k%2]), u[k/2+2], u[k/2], column)
			VMOVUPS(column, to.Offset(block*(4*h+k)))
		}
	}
}
