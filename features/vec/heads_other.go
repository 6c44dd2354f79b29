//go:build !amd64 || purego

package vec

const vectors = false

// Without kernels a head does nothing.

func peakHead([]float32) (int, uint32)                                     { return 0, 0 }
func dotHead(_, _ []float32) (int, float32)                                { return 0, 0 }
func squaredDifferenceHead(_, _ []float32) (int, float64)                  { return 0, 0 }
func accumulateHead([]float64, []float32) int                              { return 0 }
func averageHead(_, _, _ []float32) int                                    { return 0 }
func fourthRootsHead(_, _ []float32) int                                   { return 0 }
func sumAndDistanceHead(_, _ []float32) (int, float32, float32)            { return 0, 0, 0 }
func cellsHead([]Cell, []float32, int) int                                 { return 0 }
func groupsHead(_, _ []float32, _ float32) (int, float32, float32)         { return 0, 0, 0 }
func dotsHead(_, _, _ []float32, _ []Tap) int                              { return 0 }
func quantiseHead([]int8, []float32, float32) int                          { return 0 }
func halveHead(_, _ []float32) int                                         { return 0 }
func peaksHead(_, _ []float32) int                                         { return 0 }
func crossHead(_, _, _ []float32) int                                      { return 0 }
func peakBandsHead(*[bandBlock]uint8, []uint8) int                         { return 0 }
func aboveFloorsHead(_, _ []uint8, _ *[Bands]int32) int                    { return 0 }
func sumBandsHead(_ *BandSums, _, _ []uint8, _ *[Bands]int32, _ int32) int { return 0 }
func dequantiseHead([]float32, []int8, float32) int                        { return 0 }
func crossLagged(_, _, _ []float32) bool                                   { return false }
func crossRowsMade([]float32, Spectrum, Spectrum, float32, int) bool       { return false }
func crossPlanesHead(_, _, _ []float32, _ int) int                         { return 0 }
func addHead(_, _ []float64) int                                           { return 0 }
