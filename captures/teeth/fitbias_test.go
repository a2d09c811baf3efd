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
