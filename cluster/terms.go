package cluster

// DistanceTerms stores in dst, and returns, what each of the d dimensions adds
// to the preference of x for centre a over centre b:
//
//	dst[j] = (x[j]-b[j])^2 - (x[j]-a[j])^2
//
// The terms sum to the squared distance from b less that from a; a positive
// term speaks for a, a negative one for b. All slices have length d; a nil dst
// is allocated. Unequal lengths are the caller's mistake and panic, as indexing
// does. O(d).
func DistanceTerms(dst, x, a, b []float64) []float64 {
	if dst == nil {
		dst = make([]float64, len(x))
	}
	for j, v := range x {
		// The product form keeps the digits that a difference of squares of
		// far-off numbers loses.
		dst[j] = (a[j] - b[j]) * (2*v - a[j] - b[j])
	}
	return dst
}
