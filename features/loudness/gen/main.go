// Command gen writes the vector kernel of package loudness for amd64 (AVX2 and FMA) with avo. Run it by go generate in
// the package's folder.
package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

// The kernel's memory, rows of four float64: the coefficients, then what it reads, goes on with and leaves.
const (
	row                    = 32
	a1, a2, c1, c2, g1, g2 = 0, row, 2 * row, 3 * row, 4 * row, 5 * row
	state                  = 6 * row // x1 d1 w1 w2 v1 v2 sum, and four rows of cross sums
	states                 = 11
)

func main() {
	ConstraintExpr("amd64,!purego")
	TEXT("stretchesAVX2", NOSPLIT, "func(lanes *float64, x *float32, responses *float64, length int)")
	Pragma("noescape")
	Doc("stretchesAVX2 filters four successive stretches of x side by side, length samples each, a multiple of 2.",
		"See lanes and kTable for its memory.")
	lanes := Load(Param("lanes"), GP64()).(GPVirtual)
	x, h, n := Load(Param("x"), GP64()), Load(Param("responses"), GP64()), Load(Param("length"), GP64())
	far, third := GP64(), GP64() // bytes of a stretch, and of three
	MOVQ(n, far)
	SHLQ(U8(2), far)
	LEAQ(Mem{Base: far, Index: far, Scale: 2}, third)
	var s [states]VecVirtual
	for i := range s {
		s[i] = YMM()
		VMOVUPD(Mem{Base: lanes, Disp: state + row*i}, s[i])
	}
	x1, d1, w1, w2, v1, v2, sum, cross := s[0], s[1], s[2], s[3], s[4], s[5], s[6], s[7:]
	times := func(coefficient int) Mem { return Mem{Base: lanes, Disp: coefficient} }

	Label("loop")
	for step := range 2 {
		narrow, in, t := XMM(), YMM(), YMM()
		place := Mem{Base: x, Disp: 4 * step}
		VMOVSS(place, narrow)
		VINSERTPS(U8(0x10), place.Idx(far, 1), narrow, narrow)
		VINSERTPS(U8(0x20), place.Idx(far, 2), narrow, narrow)
		VINSERTPS(U8(0x30), place.Idx(third, 1), narrow, narrow)
		VCVTPS2PD(narrow, in)
		VSUBPD(x1, in, x1) // the first difference; x1 is free then
		VSUBPD(d1, x1, t)
		VMOVAPD(x1, d1)
		VMOVAPD(in, x1)
		VFNMADD231PD(times(a2), w2, t)
		VFNMADD231PD(times(a1), w1, t) // inside the shelf
		u := YMM()
		VMOVAPD(t, u)
		VFMADD231PD(times(c1), w1, u)
		VFMADD231PD(times(c2), w2, u)
		VMOVAPD(w1, w2)
		VMOVAPD(t, w1)
		VFNMADD231PD(times(g2), v2, u)
		VFNMADD231PD(times(g1), v1, u) // output
		VMOVAPD(v1, v2)
		VMOVAPD(u, v1)
		VFMADD231PD(u, u, sum)
		for k, c := range cross {
			response := YMM()
			VBROADCASTSD(Mem{Base: h, Disp: row*step + 8*k}, response)
			VFMADD231PD(response, u, c)
		}
	}
	ADDQ(U8(8), x)
	ADDQ(U8(2*row), h)
	SUBQ(U8(2), n)
	JNE(LabelRef("loop"))
	for i := range s {
		VMOVUPD(s[i], Mem{Base: lanes, Disp: state + row*i})
	}
	VZEROUPPER()
	RET()
	Generate()
}
