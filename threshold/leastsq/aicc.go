package leastsq

import (
	"fmt"
	"math"
)

// AICc is Akaike's criterion with the small-sample correction for a Gaussian fit
// with residual sum of squares rss over n observations and k parameters, the
// error variance counted among them: n·ln(2π·rss/n) + n + 2k + 2k(k+1)/(n−k−1)
// (Hurvich and Tsai, Biometrika 76 (1989) 297-307). An exact fit gives -Inf. With
// n ≤ k+1 the correction has no value: an error, for such models cannot be ranked.
func AICc(rss float64, n, k int) (float64, error) {
	if n-k-1 <= 0 || k < 1 {
		return math.Inf(1), fmt.Errorf("AICc: %d observations, %d parameters: want at least 2 more observations than parameters, which include the variance", n, k)
	}
	if !finite(rss) || rss < 0 {
		return math.Inf(1), fmt.Errorf("AICc: sum of squares is %v; want finite, not negative", rss)
	}
	N, K := float64(n), float64(k)
	return N*math.Log(2*math.Pi*rss/N) + N + 2*K + 2*K*(K+1)/(N-K-1), nil
}
