package leastsq

import "testing"

func TestRobustPhones(t *testing.T) {
	// Belgian phone calls, V&R MASS data set phones; R 4.2.2 MASS::rlm from the
	// least-squares start, run to convergence (maxit 1000, acc 1e-12).
	calls := []float64{4.4, 4.7, 4.7, 5.9, 6.6, 7.3, 8.1, 8.8, 10.6, 12.0, 13.5, 14.9, 16.1, 21.2, 119, 124, 142, 159, 182, 212, 43, 24, 27, 29}
	year := counting(50, len(calls))
	r, err := FitRobust(straightLine(year), calls, nil, Robust{Loss: Huber})
	t.Log(r.Linear, r.Scale, r.StandardErrors(), r.Converged, err)
	r, err = FitRobust(straightLine(year), calls, nil, Robust{Loss: Bisquare})
	t.Log(r.Linear, r.Scale, r.StandardErrors(), r.Converged, err)
}
