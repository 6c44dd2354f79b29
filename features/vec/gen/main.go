// Command gen writes the vector kernels of package vec for amd64 (AVX2 and FMA) with avo. Run it by go generate in the
// package's folder. Kernels take whole blocks of eight (or as said of each) and at least one; Go does the rest.
package main

import (
	. "github.com/mmcloughlin/avo/build"
	. "github.com/mmcloughlin/avo/operand"
	. "github.com/mmcloughlin/avo/reg"
)

type vector = VecVirtual

func main() {
	ConstraintExpr("amd64,!purego")
	peak()
	peaks()
	dot()
	squaredDifference()
	accumulate()
	add()
	average()
	fourthRoots()
	differences()
	cells()
	groups()
	dots()
	quantise()
	dequantise()
	halve()
	cross()
	crossLagged()
	crossRows()
	crossPlanes()
	peakBands()
	aboveFloors()
	sumBands()
	Generate()
}

// kernel begins a function.
func kernel(name, signature, doc string) {
	TEXT(name+"AVX2", NOSPLIT, signature)
	Pragma("noescape")
	Doc(name + "AVX2 " + doc)
}

func pointer(name string) GPVirtual { return Load(Param(name), GP64()).(GPVirtual) }

// at is the place disp bytes after a pointer.
func at(base Register, disp int) Mem { return Mem{Base: base, Disp: disp} }

func zero() vector {
	v := YMM()
	VXORPS(v, v, v)
	return v
}

func load(m Op) vector { v := YMM(); VMOVUPS(m, v); return v }

// loop repeats body, which handles step elements a turn, until n elements are done.
func loop(label string, n GPVirtual, step uint64, body func()) {
	Label(label)
	body()
	SUBQ(Imm(step), n)
	JNE(LabelRef(label))
}

// doubles turns eight float32 in memory into two registers of float64.
func doubles(m Mem) (low, high vector) {
	low, high = YMM(), YMM()
	VCVTPS2PD(m, low)
	VCVTPS2PD(m.Offset(16), high)
	return low, high
}

// total adds up the eight float32 of v into the lowest place of a register.
func total(v vector) VecVirtual {
	x := XMM()
	VEXTRACTF128(U8(1), v, x)
	VADDPS(v.AsX(), x, x)
	VHADDPS(x, x, x)
	VHADDPS(x, x, x)
	return x
}

// total64 adds up the four float64 of v.
func total64(v vector) VecVirtual {
	x := XMM()
	VEXTRACTF128(U8(1), v, x)
	VADDPD(v.AsX(), x, x)
	VHADDPD(x, x, x)
	return x
}

// largest finds the largest of eight uint32 of v.
func largest(v vector) VecVirtual {
	x, y := XMM(), XMM()
	VEXTRACTI128(U8(1), v, x)
	VPMAXUD(v.AsX(), x, x)
	VPSHUFD(U8(0x4E), x, y)
	VPMAXUD(y, x, x)
	VPSHUFD(U8(0xB1), x, y)
	VPMAXUD(y, x, x)
	return x
}

var constants = map[string]Mem{}

// words is a table of uint32 in memory, made once.
func words(name string, values ...uint32) Mem {
	if _, made := constants[name]; !made {
		constants[name] = GLOBL(name, RODATA|NOPTR)
		for i, v := range values {
			DATA(4*i, U32(v))
		}
	}
	return constants[name]
}

// magnitude is the mask that clears the sign.
func magnitude() vector {
	v := YMM()
	VBROADCASTSS(words("magnitude", 0x7FFFFFFF), v)
	return v
}

// spread fills a register with a float32 parameter.
func spread(param string) vector {
	x, v := XMM(), YMM()
	Load(Param(param), x)
	VBROADCASTSS(x, v)
	return v
}
