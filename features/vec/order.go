package vec

// Nth is the element that would stand at place k were v sorted (C. A. R. Hoare, Algorithm 65: Find, Comm. ACM 4(7), 1961); v is
// rearranged. No element is NaN.
func Nth(v []float64, k int) float64 {
	for lo, hi := 0, len(v)-1; lo < hi; {
		pivot := v[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return v[k]
		}
	}
	return v[k]
}
