package teeth

import (
	"fmt"
	"math"
	"testing"

	"armcurve/captures"
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

// TestWeakestOfFewTeeth: few teeth do not show by their times how compressions slow the
// wheel down between them, but by their heights. The weakest is the lowest of these.
func TestWeakestOfFewTeeth(t *testing.T) {
	const hz, noise = 20e3, 0.002
	for _, teeth := range []int{4, 6, 8} {
		for _, perTurn := range []float64{2, 3} {
			for late := 0.0; late < 1; late += 0.25 {
				b := bumps{places: gapped(teeth, 1), sigma: 0.1 / float64(teeth), rpm: 200}
				rpmAt := func(_, turns float64) float64 { return 250 * (1 + 0.2*math.Cos(2*math.Pi*(perTurn*turns+late))) }
				m, err := Measure(wave(b.drive(hz, 4, noise, rpmAt), 1/hz, 4096), Options{KeepTeeth: true, Wheel: wheel(t, fmt.Sprintf("%d-1", teeth))})
				if err != nil {
					t.Fatal(err)
				}
				if len(m.Readings) != 1 {
					t.Fatalf("%d-1, %g compressions: %d readings", teeth, perTurn, len(m.Readings))
				}
				sums, counts := make([]float64, teeth), make([]float64, teeth)
				for _, tooth := range m.ToothList[1:] {
					sums[tooth.Number-1] += tooth.PeakV
					counts[tooth.Number-1]++
				}
				lowestV := math.Inf(1)
				for j, sum := range sums[:teeth-1] {
					lowestV = min(lowestV, sum/counts[j])
				}
				if v := m.Readings[0].WeakestV.Value; math.Abs(v/lowestV-1) > 0.02 {
					t.Errorf("%d-1, %g compressions, %g late: weakest %.4f V, the lowest mean %.4f V: %+.1f %%", teeth, perTurn, late, v, lowestV, 100*(v/lowestV-1))
				}
			}
		}
	}
}

// TestWeakestOfFewTeethCranking: what compressions do to the heights of few teeth while
// the engine is cranked is seen there, and not at the many turns at higher speeds behind.
func TestWeakestOfFewTeethCranking(t *testing.T) {
	const hz, cranked, noise = 20e3, 4, 0.002
	for _, late := range []float64{0, 0.25, 0.5, 0.75} {
		// Of the cam, in whose turn there are four.
		b := bumps{places: gapped(6, 1), sigma: 0.1 / 6, rpm: 200}
		rpmAt := func(s, turns float64) float64 {
			share := 0.2 * max(0, min(1, cranked+0.5-s))
			return (125 + 325*max(0, min(1, 2*(s-cranked)))) * (1 + share*math.Cos(2*math.Pi*(4*turns+late)))
		}
		m, err := Measure(wave(b.drive(hz, 9, noise, rpmAt), 1/hz, 4096), Options{KeepTeeth: true, OnCam: true, Sensor: captures.Cam, Wheel: wheel(t, "6-1")})
		if err != nil {
			t.Fatal(err)
		}
		sums, counts := make([]float64, 5), make([]float64, 5)
		for _, tooth := range m.ToothList[1:] {
			if tooth.TimeS < cranked {
				sums[tooth.Number-1] += tooth.PeakV
				counts[tooth.Number-1]++
			}
		}
		lowestV := math.Inf(1)
		for j, sum := range sums {
			lowestV = min(lowestV, sum/counts[j])
		}
		if v := m.Readings[0].WeakestV.Value; math.Abs(v/lowestV-1) > 0.03 {
			t.Errorf("%g late: weakest at %.0f rpm %.4f V, the lowest mean %.4f V: %+.1f %%", late, m.Readings[0].RPM, v, lowestV, 100*(v/lowestV-1))
		}
	}
}
