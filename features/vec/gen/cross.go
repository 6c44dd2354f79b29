package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

// cross goes over rows of sixteen real parts, sixteen imaginary parts, sixteen powers.
func cross() {
	kernel("cross", "func(dst, x, y *float32, n int)", "is Cross for n rows.")
	dst, x, y, n := pointer("dst"), pointer("x"), pointer("y"), pointer("n")
	var re, im, back, power [2]vector
	for i := range re {
		re[i], im[i], back[i], power[i] = load(at(dst, 32*i)), load(at(dst, 64+32*i)), zero(), load(at(dst, 128+32*i))
	}
	loop("loop", n, 1, func() {
		for i := range re {
			xr, xi := load(at(x, 32*i)), load(at(x, 64+32*i))
			yr, yi := load(at(y, 32*i)), load(at(y, 64+32*i))
			VFMADD231PS(yr, xr, re[i])
			VFMADD231PS(yi, xr, im[i])
			VFMADD231PS(yr, xi, back[i])
			VFMADD231PS(yi, xi, re[i])
			VFMADD231PS(at(y, 128+32*i), load(at(x, 128+32*i)), power[i])
		}
		ADDQ(U32(192), x)
		ADDQ(U32(192), y)
	})
	for i := range re {
		VSUBPS(back[i], im[i], im[i])
		VMOVUPS(re[i], at(dst, 32*i))
		VMOVUPS(im[i], at(dst, 64+32*i))
		VMOVUPS(power[i], at(dst, 128+32*i))
	}
	VZEROUPPER()
	RET()
}

// crossLagged adds in the order of cross, so that the sums are the same. It goes over the rows twice, once for the columns of each
// half, as sixteen registers hold the sums of three lags for eight columns.
func crossLagged() {
	kernel("crossLagged", "func(dst, x, y *float32, n int)", "is CrossLagged for n rows of x.")
	dst, x, y, n := pointer("dst"), pointer("x"), pointer("y"), pointer("n")
	for half := range 2 {
		disp := 32 * half
		u, v, left := GP64(), GP64(), GP64()
		MOVQ(x, u)
		MOVQ(y, v)
		MOVQ(n, left)
		var re, im, back, power [3]vector
		for l := range re {
			row := 192*l + disp
			re[l], im[l], back[l], power[l] = load(at(dst, row)), load(at(dst, row+64)), zero(), load(at(dst, row+128))
		}
		loop([]string{"low", "high"}[half], left, 1, func() {
			xr, xi, xp := load(at(u, disp)), load(at(u, disp+64)), load(at(u, disp+128))
			for l := range re {
				row := 192*l + disp
				part := load(at(v, row))
				VFMADD231PS(part, xr, re[l])
				VFMADD231PS(part, xi, back[l])
				part = load(at(v, row+64))
				VFMADD231PS(part, xr, im[l])
				VFMADD231PS(part, xi, re[l])
				VFMADD231PS(at(v, row+128), xp, power[l])
			}
			ADDQ(U32(192), u)
			ADDQ(U32(192), v)
		})
		for l := range re {
			row := 192*l + disp
			VSUBPS(back[l], im[l], im[l])
			VMOVUPS(re[l], at(dst, row))
			VMOVUPS(im[l], at(dst, row+64))
			VMOVUPS(power[l], at(dst, row+128))
		}
	}
	VZEROUPPER()
	RET()
}

// crossRows multiplies and adds in two steps, as plain Go does.
func crossRows() {
	kernel("crossRows", "func(total, aRows, aRe, aIm, bRows, bRe, bIm *float32, aStride, bStride int, gain float32, n int)",
		"is CrossRows for n blocks of bins; strides are in bytes.")
	total, n, gain := pointer("total"), pointer("n"), spread("gain")
	type frame struct{ rows, re, im, stride GPVirtual }
	var frames []frame
	for _, name := range []string{"a", "b"} {
		frames = append(frames, frame{pointer(name + "Rows"), pointer(name + "Re"), pointer(name + "Im"), pointer(name + "Stride")})
	}
	loop("loop", n, 1, func() {
		for disp := 0; disp < 64; disp += 32 {
			var power [2]vector
			for i, f := range frames {
				re, im, square := load(at(f.re, disp)), load(at(f.im, disp)), YMM()
				VMULPS(gain, re, re)
				VMULPS(gain, im, im)
				VMOVUPS(re, at(f.rows, disp))
				VMOVUPS(im, at(f.rows, disp+64))
				power[i] = YMM()
				VMULPS(re, re, power[i])
				VMULPS(im, im, square)
				VADDPS(square, power[i], power[i])
				VMOVUPS(power[i], at(f.rows, disp+128))
			}
			VADDPS(power[1], power[0], power[0])
			VADDPS(at(total, disp), power[0], power[0])
			VMOVUPS(power[0], at(total, disp))
		}
		for _, f := range frames {
			ADDQ(U8(64), f.re)
			ADDQ(U8(64), f.im)
			ADDQ(f.stride, f.rows)
		}
		ADDQ(U8(64), total)
	})
	VZEROUPPER()
	RET()
}

// crossPlanes multiplies and adds in two steps, as plain Go does.
func crossPlanes() {
	kernel("crossPlanes", "func(dst, x, y *float32, half, n int)", "is CrossPlanes for the first n of half numbers.")
	dst, x, y, half, n := pointer("dst"), pointer("x"), pointer("y"), pointer("half"), pointer("n")
	imaginary := func(p GPVirtual) Mem { return Mem{Base: p, Index: half, Scale: 4} }
	loop("loop", n, 8, func() {
		a, b, c, d := load(at(x, 0)), load(imaginary(x)), load(at(y, 0)), load(imaginary(y))
		product := func(u, v vector) vector { w := YMM(); VMULPS(v, u, w); return w }
		re, im := product(c, a), product(d, a)
		VADDPS(product(d, b), re, re)
		VSUBPS(product(c, b), im, im)
		VADDPS(at(dst, 0), re, re)
		VADDPS(imaginary(dst), im, im)
		VMOVUPS(re, at(dst, 0))
		VMOVUPS(im, imaginary(dst))
		for _, p := range []GPVirtual{dst, x, y} {
			ADDQ(U8(32), p)
		}
	})
	VZEROUPPER()
	RET()
}
