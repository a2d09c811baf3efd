package teeth

import (
	"math"
	"testing"

	"armcurve/captures/simulate"
)

// TestWeakestOverTheCycle: with an odd number of cylinders the two turns of the crank in
// which an engine goes through its cycle slow down at other teeth. The weakest tooth is
// the lowest that there is in either, and in the slowest of the turns.
func TestWeakestOverTheCycle(t *testing.T) {
	for _, c := range []struct {
		wheel     string
		cylinders int
		endRPM    float64
	}{{"60-2", 3, 200}, {"60-2", 1, 200}, {"36-1", 3, 200}, {"36-1", 4, 214}, {"12-1", 3, 200}, {"24", 3, 200}, {"36-2-2-2", 3, 200}} {
		g := rig(t, c.wheel)
		g.SampleHz, g.LengthS = 30e3, 5
		g.Speed = simulate.Profile{{AtS: 0, RPM: 200}, {AtS: 5, RPM: c.endRPM}}
		g.Ripple = simulate.Ripple{Share: 0.4, AtRPM: 300, Cylinders: c.cylinders}
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.001, RateHz: 5000}}
		m, truth := simulated(t, g, Options{Wheel: wheel(t, c.wheel)})
		if len(m.Readings) == 0 {
			t.Fatalf("%s, %d cylinders: no reading", c.wheel, c.cylinders)
		}
		lowestV, weakestV := math.Inf(1), math.Inf(1)
		for _, tooth := range truth {
			lowestV = min(lowestV, tooth.PeakV)
		}
		for _, r := range m.Readings { // turns that are unlike make two
			weakestV = min(weakestV, r.WeakestV.Value)
		}
		if math.Abs(weakestV/lowestV-1) > 0.02 {
			t.Errorf("%s, %d cylinders: weakest %.4f V, lowest tooth %.4f V: %+.1f %%", c.wheel, c.cylinders, weakestV, lowestV, 100*(weakestV/lowestV-1))
		}
	}
}
