// Package median has medians of values: of all, and of those about each.
package median

import (
	"math"
	"slices"
)

// Deviation is the standard deviation of normal values over the median of their sizes.
const Deviation = 1.4826

// Of is the middle of values in any order; NaN where there are none.
func Of(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	return OfSorted(sorted)
}

// Running gives for each value the median of it and of those up to near places
// before and behind it.
func Running(x []float64, near int) []float64 {
	all := make([]float64, len(x))
	window := make([]float64, 0, 2*near+2) // sorted
	for i := range min(near, len(x)) {
		window = put(window, x[i])
	}
	for i := range x {
		if i+near < len(x) {
			window = put(window, x[i+near])
		}
		if i > near {
			at, _ := slices.BinarySearch(window, x[i-near-1])
			window = slices.Delete(window, at, at+1)
		}
		all[i] = OfSorted(window)
	}
	return all
}

// put inserts a value where it belongs.
func put(sorted []float64, x float64) []float64 {
	at, _ := slices.BinarySearch(sorted, x)
	return slices.Insert(sorted, at, x)
}

// OfSorted is the median of sorted values.
func OfSorted(sorted []float64) float64 {
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
