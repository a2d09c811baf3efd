package teeth

import "gonum.org/v1/gonum/stat/distuv"

// atMost is the one-sided upper bound on the probability of an event that was
// seen hits times in n (C. J. Clopper, E. S. Pearson, Biometrika 26, 1934, 404):
// none in 58 does not mean never. 1 where nothing was tried.
func atMost(hits, n int64, confidence float64) float64 {
	if n <= 0 || hits >= n {
		return 1
	}
	return distuv.Beta{Alpha: float64(hits + 1), Beta: float64(n - hits)}.Quantile(confidence)
}
