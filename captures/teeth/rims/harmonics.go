package rims

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// mostParts is how many numbers a curve of two harmonics has.
const mostParts = 5

// harmonics are a curve around a turn: its mean, then the cosine and the sine of what
// swings once, twice a turn. Those that it has not are 0.
type harmonics [mostParts]float64

// partsAt are the parts of a curve at a place, of which each number is a multiple.
func partsAt(turns float64) harmonics {
	sin, cos := math.Sincos(2 * math.Pi * turns)
	return harmonics{1, cos, sin, cos*cos - sin*sin, 2 * sin * cos}
}

// at is the curve's value.
func (h *harmonics) at(turns float64) float64 {
	sum, p := 0.0, partsAt(turns)
	for i := range h {
		sum += h[i] * p[i]
	}
	return sum
}

// size is how far the curve swings so many times a turn.
func (h *harmonics) size(times int) float64 { return math.Hypot(h[2*times-1], h[2*times]) }

// reach is half of what lies between the curve's highest and its lowest value, and where
// the former is.
func (h *harmonics) reach() (half, highest float64) {
	const steps = 720
	low, high := math.Inf(1), math.Inf(-1)
	for i := range steps {
		at := float64(i) / steps
		v := h.at(at)
		low = min(low, v)
		if v > high {
			high, highest = v, at
		}
	}
	return (high - low) / 2, highest
}

// fitting are the normal equations of a curve through values around a turn.
type fitting struct {
	parts int // of the curve that are sought
	n     int
	left  [mostParts * mostParts]float64 // as many rows and columns as parts
	right [mostParts]float64
}

func (f *fitting) add(turns, value float64) {
	p := partsAt(turns)
	f.n++
	for i := range f.parts {
		for j := range f.parts {
			f.left[i*f.parts+j] += p[i] * p[j]
		}
		f.right[i] += p[i] * value
	}
}

const spareValues = 2 // beyond the numbers sought

// solve is the curve of least squares; the mean alone where the values do not tell more.
func (f *fitting) solve() (h harmonics) {
	mean := harmonics{f.right[0] / max(float64(f.n), 1)}
	if f.n < f.parts+spareValues {
		return mean
	}
	left := mat.NewDense(f.parts, f.parts, f.left[:f.parts*f.parts])
	solution := mat.NewVecDense(f.parts, h[:f.parts])
	if solution.SolveVec(left, mat.NewVecDense(f.parts, f.right[:f.parts])) != nil {
		return mean
	}
	return h
}
