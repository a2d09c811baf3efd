package teeth

import (
	"testing"

	"armcurve/captures/simulate"
)

// TestSparksAtAnyAngle: sparks that come in every turn, or in every second, are told
// wherever they stand: between teeth, on a tooth's rise, behind its fall, beside a gap.
// And where there are none, none are told.
func TestSparksAtAnyAngle(t *testing.T) {
	seen, all := 0, 0
	for _, c := range []struct {
		wheel       string
		rpm, ripple float64
		anglesDeg   []float64
	}{
		{"12-1", 180, 0.25, []float64{44, 200, 318}}, // on a tooth's rise, behind a fall, beside the gap
		{"12-1", 2500, 0, []float64{104, 307}},
		{"36-1", 220, 0.4, []float64{84, 347}},
		{"24", 850, 0.05, []float64{2, 101}},
	} {
		g := rig(t, c.wheel)
		g.Speed, g.SampleHz, g.LengthS = simulate.Steady(c.rpm), 50e3, 3
		if c.rpm > 2000 {
			g.LengthS = 0.5
		}
		g.Ripple = simulate.Ripple{Share: c.ripple, AtRPM: c.rpm, Cylinders: 4}
		_, truth := simulated(t, g, Options{})
		peakV := meanPeak(truth)
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.03 * peakV}}
		m, _ := simulated(t, g, Options{Wheel: wheel(t, c.wheel)})
		for _, r := range m.Readings {
			if s := r.SpikeV.Value; s != 0 {
				t.Errorf("%s at %.0f rpm: a spike of %.3g V where there is none", c.wheel, r.RPM, s)
			}
		}
		heightV := 0.3 * peakV
		for _, angle := range c.anglesDeg {
			spark := simulate.Spark{AnglesDeg: []float64{angle, angle + 360}, HeightV: heightV, AtRPM: c.rpm, RingHz: 3000, DecayS: 5e-5, Jitter: 0.05}
			if all%2 == 1 {
				spark.AnglesDeg = spark.AnglesDeg[:1]
			}
			g.Sensors[0].Sparks = []simulate.Spark{spark}
			m, _ := simulated(t, g, Options{Wheel: wheel(t, c.wheel)})
			all++
			highest := 0.0
			for _, r := range m.Readings {
				highest = max(highest, r.SpikeV.Value)
			}
			if highest > 0.6*heightV && highest < 1.7*heightV {
				seen++
			} else {
				t.Logf("%s at %.0f rpm, sparks at %.1f° (%d of them in two turns): told %.3g V for %.3g", c.wheel, c.rpm, angle, len(spark.AnglesDeg), highest, heightV)
			}
		}
	}
	if t.Logf("%d of %d seen", seen, all); seen < all {
		t.Errorf("sparks were told at %d of %d angles", seen, all)
	}
}
