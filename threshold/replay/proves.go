package replay

import "gonum.org/v1/gonum/mathext"

// AtMost is the one-sided upper bound for the share of events of which hits
// occurred in n trials, at a confidence: C. J. Clopper and E. S. Pearson,
// Biometrika 26 (1934) 404–413. None in n proves at most about 3/n at 95 %.
func AtMost(hits, n int64, confidence float64) float64 {
	if n <= 0 || hits >= n {
		return 1
	}
	return mathext.InvRegIncBeta(float64(hits)+1, float64(n-hits), confidence)
}
