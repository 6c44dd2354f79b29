package blind

import (
	"fmt"
	"math"
)

// AtLeast is the probability of k or more right answers in n trials when each is right with probability rate: the sum over
// i >= k of C(n, i) rate^i (1 - rate)^(n - i), computed term by term in logarithms.
func AtLeast(k, n int, rate float64) float64 {
	if k <= 0 {
		return 1
	}
	if rate <= 0 {
		return 0
	}
	if rate >= 1 {
		return map[bool]float64{true: 1, false: 0}[k <= n]
	}
	logs := func(x int) float64 { v, _ := math.Lgamma(float64(x) + 1); return v }
	sum := 0.0
	for i := k; i <= n; i++ {
		sum += math.Exp(logs(n) - logs(i) - logs(n-i) + float64(i)*math.Log(rate) + float64(n-i)*math.Log1p(-rate))
	}
	return math.Min(1, sum)
}

// Alpha is the risk of taking a guesser for a listener.
const Alpha = 0.05

// Needed is the least number of right answers of n with which a guesser passes in at most Alpha of all tests; n+1 when no
// number does (fewer than five trials).
func Needed(n int) int {
	for k := range n + 1 {
		if AtLeast(k, n, 0.5) <= Alpha {
			return k
		}
	}
	return n + 1
}

// Power is the probability that a listener who is right at the given rate passes a test of n trials.
func Power(n int, rate float64) float64 { return AtLeast(Needed(n), n, rate) }

// RateFor is the rate of right answers from which a listener passes a test of n trials four times of five, to a hundredth.
func RateFor(n int) float64 {
	best := 1.0
	for i := 100; i >= 50; i-- {
		if r := float64(i) / 100; Power(n, r) >= 0.795 {
			best = r
		}
	}
	return best
}

// TwoSided is the probability, if both are liked alike, of a split at least as uneven as k of n.
func TwoSided(k, n int) float64 { return math.Min(1, 2*AtLeast(max(k, n-k), n, 0.5)) }

// often says a rate as one says it.
func often(rate float64) string {
	switch math.Round(rate * 100) {
	case 80:
		return "4 times of 5"
	case 75:
		return "3 times of 4"
	case 67, 66:
		return "2 times of 3"
	case 90:
		return "9 times of 10"
	}
	return fmt.Sprintf("%.0f %% of the time", 100*rate)
}

// oneIn says a small probability as one says it.
func oneIn(p float64) string {
	if p > 0.995 {
		return "always"
	}
	if p >= 0.2 {
		return fmt.Sprintf("in %.0f of 100 tests", 100*p)
	}
	return fmt.Sprintf("in 1 of %.0f tests", 1/p)
}

// abxWords says what k right of n means, and what it does not.
func abxWords(k, n int) string {
	p := AtLeast(k, n, 0.5)
	if k >= Needed(n) {
		return fmt.Sprintf("%d of %d: heard. A guesser gets so many or more %s (p = %.4f). It says that you told A from B here, in this passage, on this system; not which is better.", k, n, oneIn(p), p)
	}
	return fmt.Sprintf("%d of %d: not shown to be audible here (p = %.2f; %d were needed). That is no proof that there is no difference: with %d trials only a listener right %s would have passed four times of five.", k, n, p, Needed(n), n, often(RateFor(n)))
}

// preferenceWords says what it means that B was chosen k times of n.
func preferenceWords(k, n int, a, b string) string {
	p := TwoSided(k, n)
	liked, times := b, k
	if n-k > k {
		liked, times = a, n-k
	}
	if p <= Alpha {
		return fmt.Sprintf("%s was liked better %d times of %d. With no liking either way a split so uneven comes %s (p = %.4f): the choice is not chance.", liked, times, n, oneIn(p), p)
	}
	return fmt.Sprintf("%s was chosen %d times of %d: no liking is shown (p = %.2f). Either there is none, or it is too weak for %d trials.", liked, times, n, p, n)
}
