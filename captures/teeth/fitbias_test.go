package teeth

import (
	"math"
	"testing"
)

// TestPeaksOfNarrowLobes: a peak is neither low where the lobe is narrow on top and has
// few samples, nor high where it is wide.
func TestPeaksOfNarrowLobes(t *testing.T) {
	narrow := func(width float64) func(u float64) float64 {
		slope := func(x float64) float64 { c := math.Cosh(x / width); return 1 / (c * c) }
		return func(u float64) float64 { return slope(u+0.2) - slope(u-0.2) }
	}
	for name, lobe := range map[string]func(u float64) float64{
		"0.07 pitches": narrow(0.07), "0.08 pitches": narrow(0.08), "0.13 pitches": narrow(0.13), "gauss": lobeShapes["gauss"], "sine": lobeShapes["sine"],
	} {
		for _, hz := range []float64{18e3, 24e3, 40e3} {
			const noise = 0.005
			e := eccentric{wheel: "36-1", lobe: lobe, rpm: [2]float64{1000, 1000}, seconds: 2, hz: hz, noise: noise}
			v, _ := e.samples(t)
			m, err := Measure(wave(v, 1/e.hz, 8192), statedIf(t, e.wheel))
			if err != nil {
				t.Fatal(err)
			}
			if off := m.Readings[0].PeakV.Value - 1; math.Abs(off) > 0.01 {
				t.Errorf("%s, %.0f samples in a pitch: peaks are off by %+.2f %%", name, hz/600, 100*off)
			}
		}
	}
}

// TestPeaksOfSharpLobes: nor is it low where the lobe ends in an edge, as a triangle's,
// which no polynomial follows; behind a gap, too.
func TestPeaksOfSharpLobes(t *testing.T) {
	triangle := func(u float64) float64 { return max(0, 1-4*math.Abs(u+0.25)) }
	lobe := func(u float64) float64 { return triangle(u) - triangle(-u) }
	for _, hz := range []float64{60e3, 200e3} {
		for _, noise := range []float64{0.002, 0.02} {
			e := eccentric{wheel: "36-1", lobe: lobe, rpm: [2]float64{1000, 1000}, seconds: 2, hz: hz, noise: noise}
			v, _ := e.samples(t)
			m, err := Measure(wave(v, 1/e.hz, 8192), statedIf(t, e.wheel))
			if err != nil {
				t.Fatal(err)
			}
			r := m.Readings[0]
			if off, weakest := r.PeakV.Value-1, r.WeakestV.Value-1; math.Abs(off) > 0.015 || math.Abs(weakest) > 0.02 {
				t.Errorf("%.0f samples in a pitch, noise %g: peaks are off by %+.2f %%, the weakest by %+.2f %%", hz/600, noise, 100*off, 100*weakest)
			}
		}
	}
}
