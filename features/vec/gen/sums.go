package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

// done returns x.
func done(x Register) {
	Store(x, ReturnIndex(0))
	VZEROUPPER()
	RET()
}

func peak() {
	kernel("peak", "func(x *float32, n int) float32", "is Peak.")
	x, n, mask, top := pointer("x"), pointer("n"), magnitude(), zero()
	loop("loop", n, 8, func() {
		v := YMM()
		VANDPS(at(x, 0), mask, v)
		VPMAXUD(v, top, top)
		ADDQ(U8(32), x)
	})
	done(largest(top))
}

// peaks takes 64 samples a turn.
func peaks() {
	kernel("peaks", "func(dst, x *float32, n int)", "is Peaks for n blocks.")
	dst, x, n, mask := pointer("dst"), pointer("x"), pointer("n"), magnitude()
	loop("loop", n, 1, func() {
		var top [2]vector
		for i := range top {
			top[i] = YMM()
			VANDPS(at(x, 32*i), mask, top[i])
		}
		for i := 2; i < 8; i++ {
			v := YMM()
			VANDPS(at(x, 32*i), mask, v)
			VPMAXUD(v, top[i%2], top[i%2])
		}
		VPMAXUD(top[1], top[0], top[0])
		VMOVSS(largest(top[0]), at(dst, 0))
		ADDQ(U8(4), dst)
		ADDQ(U32(256), x)
	})
	VZEROUPPER()
	RET()
}

func dot() {
	kernel("dot", "func(x, y *float32, n int) float32", "is Dot for n a multiple of 32.")
	x, y, n := pointer("x"), pointer("y"), pointer("n")
	var sums [4]vector
	for i := range sums {
		sums[i] = zero()
	}
	loop("loop", n, 32, func() {
		for i, s := range sums {
			VFMADD231PS(at(y, 32*i), load(at(x, 32*i)), s)
		}
		ADDQ(U32(128), x)
		ADDQ(U32(128), y)
	})
	VADDPS(sums[1], sums[0], sums[0])
	VADDPS(sums[3], sums[2], sums[2])
	VADDPS(sums[2], sums[0], sums[0])
	done(total(sums[0]))
}

func squaredDifference() {
	kernel("squaredDifference", "func(x, y *float32, n int) float64", "is SquaredDifference.")
	x, y, n, s, t := pointer("x"), pointer("y"), pointer("n"), zero(), zero()
	loop("loop", n, 8, func() {
		for half, sum := range []vector{s, t} {
			d, wide := XMM(), YMM()
			VMOVUPS(at(x, 16*half), d)
			VSUBPS(at(y, 16*half), d, d)
			VCVTPS2PD(d, wide)
			VFMADD231PD(wide, wide, sum)
		}
		ADDQ(U8(32), x)
		ADDQ(U8(32), y)
	})
	VADDPD(t, s, s)
	done(total64(s))
}

func accumulate() {
	kernel("accumulate", "func(sum *float64, x *float32, n int)", "is Accumulate.")
	sum, x, n := pointer("sum"), pointer("x"), pointer("n")
	loop("loop", n, 8, func() {
		low, high := doubles(at(x, 0))
		VADDPD(at(sum, 0), low, low)
		VADDPD(at(sum, 32), high, high)
		VMOVUPD(low, at(sum, 0))
		VMOVUPD(high, at(sum, 32))
		ADDQ(U8(64), sum)
		ADDQ(U8(32), x)
	})
	VZEROUPPER()
	RET()
}

func add() {
	kernel("add", "func(sum, x *float64, n int)", "is Add.")
	sum, x, n := pointer("sum"), pointer("x"), pointer("n")
	loop("loop", n, 8, func() {
		for disp := 0; disp < 64; disp += 32 {
			v := YMM()
			VMOVUPD(at(x, disp), v)
			VADDPD(at(sum, disp), v, v)
			VMOVUPD(v, at(sum, disp))
		}
		ADDQ(U8(64), sum)
		ADDQ(U8(64), x)
	})
	VZEROUPPER()
	RET()
}

func average() {
	kernel("average", "func(dst, x, y *float32, n int)", "is Average.")
	dst, x, y, n := pointer("dst"), pointer("x"), pointer("y"), pointer("n")
	half := YMM()
	VBROADCASTSS(words("half", 0x3F000000), half)
	loop("loop", n, 8, func() {
		v := load(at(x, 0))
		VADDPS(at(y, 0), v, v)
		VMULPS(half, v, v)
		VMOVUPS(v, at(dst, 0))
		for _, p := range []Register{dst, x, y} {
			ADDQ(U8(32), p)
		}
	})
	VZEROUPPER()
	RET()
}

func fourthRoots() {
	kernel("fourthRoots", "func(dst, x *float32, n int)", "is FourthRoots.")
	dst, x, n := pointer("dst"), pointer("x"), pointer("n")
	loop("loop", n, 8, func() {
		v := YMM()
		VSQRTPS(at(x, 0), v)
		VSQRTPS(v, v)
		VMOVUPS(v, at(dst, 0))
		ADDQ(U8(32), dst)
		ADDQ(U8(32), x)
	})
	VZEROUPPER()
	RET()
}

func differences() {
	kernel("sumAndDistance", "func(x, y *float32, n int) (sum, distance float32)", "is SumAndDistance.")
	x, y, n, mask, sum, distance := pointer("x"), pointer("y"), pointer("n"), magnitude(), zero(), zero()
	loop("loop", n, 8, func() {
		u, v, d := load(at(x, 0)), load(at(y, 0)), YMM()
		VSUBPS(v, u, d)
		VADDPS(v, u, u)
		VANDPS(mask, d, d)
		VADDPS(u, sum, sum)
		VADDPS(d, distance, distance)
		ADDQ(U8(32), x)
		ADDQ(U8(32), y)
	})
	Store(total(sum), ReturnIndex(0))
	Store(total(distance), ReturnIndex(1))
	VZEROUPPER()
	RET()
}
