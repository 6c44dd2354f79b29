package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
)

// Frames are 24 bytes: three registers hold four of them, or the 24 bands of one as numbers of 32 bits.

func peakBands() {
	kernel("peakBands", "func(top, x *uint8, n int)", "is PeakBands for n blocks of four frames, whose maxima it does not put together.")
	top, x, n := pointer("top"), pointer("x"), pointer("n")
	v := [3]vector{zero(), zero(), zero()}
	loop("loop", n, 1, func() {
		for i := range v {
			VPMAXUB(at(x, 32*i), v[i], v[i])
		}
		ADDQ(U8(96), x)
	})
	for i := range v {
		VMOVDQU(v[i], at(top, 32*i))
	}
	VZEROUPPER()
	RET()
}

// aboveFloors takes floors below zero from lifts, all others from floors.
func aboveFloors() {
	kernel("aboveFloors", "func(dst, x, floors, lifts *uint8, n int)", "is AboveFloors for n blocks of four frames.")
	dst, x, floors, lifts, n := pointer("dst"), pointer("x"), pointer("floors"), pointer("lifts"), pointer("n")
	var floor, lift [3]vector
	for i := range floor {
		floor[i], lift[i] = load(at(floors, 32*i)), load(at(lifts, 32*i))
	}
	loop("loop", n, 1, func() {
		for i := range floor {
			v := YMM()
			VPADDUSB(at(x, 32*i), lift[i], v)
			VPSUBUSB(floor[i], v, v)
			VMOVDQU(v, at(dst, 32*i))
		}
		ADDQ(U8(96), x)
		ADDQ(U8(96), dst)
	})
	VZEROUPPER()
	RET()
}

// sumBands subtracts the floors, in parts of FallOne, together with the rounding.
func sumBands() {
	kernel("sumBands", "func(sums *uint32, x, y *uint8, offsets *int32, fall int32, n int)", "is SumBands for n frames; offsets are half a step less the floors.")
	sums, x, y, offsets, n := pointer("sums"), pointer("x"), pointer("y"), pointer("offsets"), pointer("n")
	fall, nothing, low := YMM(), zero(), XMM()
	VMOVD(Load(Param("fall"), GP32()), low)
	VPBROADCASTD(low, fall)
	var course, level, square, product [3]vector
	for i := range course {
		course[i], level[i], square[i], product[i] = zero(), zero(), zero(), zero()
	}
	loop("loop", n, 1, func() {
		for i := range course {
			v, w := YMM(), YMM()
			VPMOVZXBD(at(x, 8*i), v)
			VPSLLD(U8(16), v, v)
			VPSUBD(fall, course[i], course[i])
			VPMAXSD(v, course[i], course[i])
			VPADDD(at(offsets, 32*i), course[i], v)
			VPSRAD(U8(16), v, v)
			VPMAXSD(nothing, v, v)
			VPADDD(v, level[i], level[i])
			VPMADDWD(v, v, w)
			VPADDD(w, square[i], square[i])
			VPMOVZXBD(at(y, 8*i), w)
			VPMADDWD(v, w, w)
			VPADDD(w, product[i], product[i])
		}
		ADDQ(U8(24), x)
		ADDQ(U8(24), y)
	})
	for i := range course {
		VMOVDQU(level[i], at(sums, 32*i))
		VMOVDQU(square[i], at(sums, 96+32*i))
		VMOVDQU(product[i], at(sums, 192+32*i))
	}
	VZEROUPPER()
	RET()
}
