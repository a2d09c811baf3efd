package teeth

import "gonum.org/v1/gonum/stat/distuv"

// AtMost is the one-sided upper bound on the probability of an event that was
// seen hits times in n (C. J. Clopper, E. S. Pearson, Biometrika 26, 1934, 404):
// none in 58 does not mean never. 1 where nothing was tried.
func AtMost(hits, n int, confidence float64) float64 {
	if n <= 0 || hits >= n {
		return 1
	}
	return distuv.Beta{Alpha: float64(hits + 1), Beta: float64(n - hits)}.Quantile(confidence)
}

// AtLeast is the one-sided lower bound.
func AtLeast(hits, n int, confidence float64) float64 {
	if n <= 0 || hits <= 0 {
		return 0
	}
	return distuv.Beta{Alpha: float64(hits), Beta: float64(n - hits + 1)}.Quantile(1 - confidence)
}
