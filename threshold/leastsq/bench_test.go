package leastsq

import "testing"

// A dozen readings about a roll-off: the fit that is repeated most.
func benchmarkData() (n, y []float64) {
	n = geometric(250, 8000, 12)
	return n, noisyLogs(seeded(1), n, 1800, 0.02, rollOff)
}

// The design alone, to tell its share of a fit.
func BenchmarkDesign(b *testing.B) {
	n, _ := benchmarkData()
	m := logRollOff(n)
	offset, columns := make([]float64, len(n)), [][]float64{make([]float64, len(n))}
	for b.Loop() {
		m.At(1800, offset, columns)
	}
}

func BenchmarkFitLogs(b *testing.B) {
	n, y := benchmarkData()
	m := logRollOff(n)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Fit(m, y, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFitVolts(b *testing.B) {
	n, _ := benchmarkData()
	volts := make([]float64, len(n))
	rng := seeded(1)
	for i := range volts {
		volts[i] = 0.005*rollOff(n[i], 1800) + 0.05*rng.NormFloat64()
	}
	m := shaped(n, 50, 1e6, rollOff)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Fit(m, volts, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFitLine(b *testing.B) {
	m := straightLine(norrisX)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Fit(m, norrisY, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPossible(b *testing.B) {
	n, y := benchmarkData()
	m := logRollOff(n)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Possible(m, y, nil, 0.002); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFitRobust(b *testing.B) {
	n, y := benchmarkData()
	m := logRollOff(n)
	for _, resistant := range []bool{false, true} {
		name := "from least squares"
		if resistant {
			name = "from trimmed"
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := FitRobust(m, y, nil, Robust{Loss: Bisquare, MinScale: 0.03, Resistant: resistant}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
