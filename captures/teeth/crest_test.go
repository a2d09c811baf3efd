package teeth

import (
	"math"
	"testing"
)

// TestNarrowPeaksInNoise: lobes are narrow where noise moves their falls; their peaks are
// read neither high, at the top that noise makes, nor low, beside their own. Noise moves
// each mean by 0.6 %.
func TestNarrowPeaksInNoise(t *testing.T) {
	for _, c := range []struct {
		wheel                  string
		perPitch, part         float64
		gapMM, toothMM, poleMM float64
	}{
		{"36-1", 60, 0.2, 0.6, 2, 1},
		{"60-2", 40, 0.15, 0.6, 2, 1},
		{"36-1", 100, 0.3, 0.6, 2, 1},
		{"36-1", 80, 0.3, 0.8, 2, 1},
	} {
		g := noisyRig(t, c.wheel, c.perPitch, 0)
		sensor := &g.Sensors[0]
		sensor.GapMM, sensor.ToothMM, sensor.PoleMM = c.gapMM, c.toothMM, c.poleMM
		quiet, _ := simulated(t, g, Options{Wheel: sensor.Wheel})
		sensor.Noise[0].SigmaV = c.part * quiet.Readings[0].PeakV.Value
		m, truth := simulated(t, g, Options{Wheel: sensor.Wheel})
		a := compare(g, m, truth)
		off := a.peakRatio/a.peaks - 1
		reading := m.Readings[0].PeakV.Value/quiet.Readings[0].PeakV.Value - 1
		t.Logf("%v: %.0f peaks off by %+.2f %%, their mean by %+.2f %%", c, a.peaks, 100*off, 100*reading)
		if most := 0.009; math.Abs(off) > most || math.Abs(reading) > most {
			t.Errorf("%v: %.0f peaks off by %+.2f %%, their mean by %+.2f %%", c, a.peaks, 100*off, 100*reading)
		}
	}
}
