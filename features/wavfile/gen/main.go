// Command gen writes the vector kernels of package wavfile for amd64 (AVX2) with avo. Run it by go generate in the
// package's folder.
//
// Each kernel unpacks n samples of one channel, a multiple of eight, that lie side by side (dense) or alternate with
// those of another channel (sparse).
package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

func main() {
	ConstraintExpr("amd64,!purego")
	kernel("dense16", 16, "", func(raw Register, v VecVirtual) {
		VPMOVSXWD(Mem{Base: raw}, v)
	})
	kernel("sparse16", 32, "", func(raw Register, v VecVirtual) {
		VMOVDQU(Mem{Base: raw}, v)
		VPSLLD(U8(16), v, v)
		VPSRAD(U8(16), v, v)
	})
	kernel("dense24", 24, "It reads 28 bytes for eight samples.", func(raw Register, v VecVirtual) {
		VBROADCASTI128(Mem{Base: raw}, v)
		VINSERTI128(U8(1), Mem{Base: raw, Disp: 12}, v, v)
		VPSHUFB(order("dense24", 0, 3, 6, 9), v, v)
	})
	kernel("sparse24", 48, "It reads 52 bytes for eight samples.", func(raw Register, v VecVirtual) {
		shuffle := order("sparse24", 0, 6, 0, 6) // two samples of every twelve bytes, twice
		var half [2]VecVirtual
		for h := range half {
			half[h] = YMM()
			VBROADCASTI128(Mem{Base: raw, Disp: 12 * h}, half[h])
			VINSERTI128(U8(1), Mem{Base: raw, Disp: 24 + 12*h}, half[h], half[h])
			VPSHUFB(shuffle, half[h], half[h])
		}
		VPUNPCKLQDQ(half[1], half[0], v)
	})
	kernel("dense32", 32, "", func(raw Register, v VecVirtual) {
		VMOVDQU(Mem{Base: raw}, v)
	})
	kernel("sparse32", 64, "It reads 64 bytes for eight samples.", func(raw Register, v VecVirtual) { everySecond(raw, v) })
	floats("denseFloat", 32, func(raw Register, v VecVirtual) { VMOVUPS(Mem{Base: raw}, v) })
	floats("sparseFloat", 64, func(raw Register, v VecVirtual) { everySecond(raw, v) })
	Generate()
}

// everySecond takes dwords 0, 2 ... 14.
func everySecond(raw Register, v VecVirtual) {
	first := YMM()
	VMOVUPS(Mem{Base: raw}, first)
	VSHUFPS(U8(0x88), Mem{Base: raw, Disp: 32}, first, first)
	VPERMPD(U8(0xD8), first, v)
}

// order is a table for VPSHUFB that puts three bytes from each of four places into the upper bytes of dwords, twice.
func order(name string, places ...int) Mem {
	m := GLOBL(name+"Order", RODATA|NOPTR)
	for i := range 8 {
		p := uint32(places[i%4])
		DATA(4*i, U32(0x80|p<<8|(p+1)<<16|(p+2)<<24))
	}
	return m
}

// kernel makes a function that turns whole numbers into samples.
func kernel(name string, step uint64, note string, take func(raw Register, v VecVirtual)) {
	TEXT(name+"AVX2", NOSPLIT, "func(dst *float32, raw *byte, n int, scale float32)")
	Pragma("noescape")
	if note != "" {
		Doc(note)
	}
	dst, raw, n := Load(Param("dst"), GP64()), Load(Param("raw"), GP64()), Load(Param("n"), GP64())
	x, scale := XMM(), YMM()
	Load(Param("scale"), x)
	VBROADCASTSS(x, scale)
	Label("loop")
	v := YMM()
	take(raw, v)
	VCVTDQ2PS(v, v)
	VMULPS(scale, v, v)
	VMOVUPS(v, Mem{Base: dst})
	ADDQ(Imm(step), raw)
	ADDQ(U8(32), dst)
	SUBQ(U8(8), n)
	JNE(LabelRef("loop"))
	VZEROUPPER()
	RET()
}

// floats makes a function that copies samples and stops before the first eight with one that is not finite.
func floats(name string, step uint64, take func(raw Register, v VecVirtual)) {
	TEXT(name+"AVX2", NOSPLIT, "func(dst *float32, raw *byte, n int) (done int)")
	Pragma("noescape")
	Doc(name + "AVX2 stops before eight samples of which one is not finite. done is how many it copied.")
	dst, raw, n := Load(Param("dst"), GP64()), Load(Param("raw"), GP64()), Load(Param("n"), GP64())
	exponent := YMM()
	VBROADCASTSS(ConstData(name+"Exponent", U32(0x7F800000)), exponent)
	done, bad := GP64(), GP32()
	XORQ(done, done)
	Label("loop")
	v, e := YMM(), YMM()
	take(raw, v)
	VPAND(exponent, v, e)
	VPCMPEQD(exponent, e, e)
	VMOVMSKPS(e, bad)
	TESTL(bad, bad)
	JNE(LabelRef("end"))
	VMOVUPS(v, Mem{Base: dst})
	ADDQ(Imm(step), raw)
	ADDQ(U8(32), dst)
	ADDQ(U8(8), done)
	CMPQ(done, n)
	JB(LabelRef("loop"))
	Label("end")
	Store(done, ReturnIndex(0))
	VZEROUPPER()
	RET()
}
