package threshold

import (
	"math"
	"testing"

	"armcurve/captures"
)

// twelve readings of an engine, with a little scatter and noise beside each.
func twelve() ([]captures.Reading, Options) {
	var list []captures.Reading
	for i, rpm := range []float64{200, 350, 500, 900, 1200, 1500, 2200, 3000, 4000, 5000, 6000, 6500} {
		peakV := 0.00518 * rpm / math.Hypot(1, rpm/1814) * (1 + 0.02*math.Sin(float64(7*i*i)))
		list = append(list, captures.Reading{RPM: rpm, PeakV: captures.Some(peakV), NoiseRMSV: captures.Some(0.01 + 1e-5*rpm)})
	}
	o := DefaultOptions()
	o.Wheel, _ = captures.ParseWheel("36-1")
	return list, o
}

func BenchmarkFit(b *testing.B) {
	readings, _ := twelve()
	p := newPoints(readings)
	for b.Loop() {
		if _, err := fitAll(p); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSensor(b *testing.B) {
	readings, o := twelve()
	for b.Loop() {
		if _, err := NewSensor(readings, o); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTable(b *testing.B) {
	readings, o := twelve()
	for b.Loop() {
		if _, err := Propose(readings, o); err != nil {
			b.Fatal(err)
		}
	}
}
