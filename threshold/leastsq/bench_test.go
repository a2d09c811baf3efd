package leastsq

import (
	"math"
	"testing"
)

// A dozen log residuals about a roll-off: the fit that is repeated most.
func benchmarkFit(b *testing.B, f func(x, theta float64) float64) {
	n, y := make([]float64, 12), make([]float64, 12)
	for i := range n {
		n[i] = 250 * math.Pow(1.35, float64(i))
		y[i] = math.Log(0.005*rollOff(n[i], 1800)) + 0.02*math.Sin(float64(7*i))
	}
	m := Model{Columns: 1, Lo: 50, Hi: 1e6, Log: true, At: func(theta float64, offset []float64, columns [][]float64) {
		for i, n := range n {
			offset[i], columns[0][i] = math.Log(f(n, theta)), 1
		}
	}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Fit(m, y, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFitRollOff(b *testing.B)    { benchmarkFit(b, rollOff) }
func BenchmarkFitSaturating(b *testing.B) { benchmarkFit(b, saturatingAt) }
