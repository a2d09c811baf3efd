package teeth

import (
	"fmt"
	"testing"

	"armcurve/captures/simulate"
)

var usualWheels = []string{"36-1", "60-2", "12-1", "24", "36-2-2-2"}

// statedIf states the wheels that a wave does not tell.
func statedIf(t testing.TB, text string) Options {
	if text == "24" || text == "36-2-2-2" {
		return Options{Wheel: wheel(t, text)}
	}
	return Options{}
}

// TestCleanTeeth: on clean steady captures and pulls at most one tooth in ten
// thousand is missed, and one found too many, and the falls are where they are.
func TestCleanTeeth(t *testing.T) {
	var all tally
	for _, text := range usualWheels {
		for _, rpm := range []float64{200, 1000, 8000} {
			g := rig(t, text)
			g.Speed = simulate.Steady(rpm)
			g.LengthS = 0.7
			g.SampleHz = 200e3
			m, truth := simulated(t, g, statedIf(t, text))
			all.plus(checkClean(t, fmt.Sprintf("%s at %.0f rpm", text, rpm), g, m, truth))
		}
		g := rig(t, text)
		g.Speed = simulate.Pull(200, 8000, 5)
		g.LengthS = 5
		g.SampleHz = 250e3
		m, truth := simulated(t, g, statedIf(t, text))
		all.plus(checkClean(t, text+" pull", g, m, truth))
	}
	all.log(t, "all")
	if 10000*all.missed > all.truth || 10000*all.false > all.truth {
		t.Errorf("%d missed, %d false of %d", all.missed, all.false, all.truth)
	}
	if all.truth < 50000 {
		t.Errorf("%d teeth do not prove one in ten thousand", all.truth)
	}
}

func checkClean(t *testing.T, name string, g simulate.Rig, m Measurement, truth []simulate.Tooth) tally {
	t.Helper()
	a := compare(g, m, truth)
	a.log(t, name)
	if a.worstDeg > 0.05 {
		t.Errorf("%s: timing off by %.4f crank degrees", name, a.worstDeg)
	}
	if bias := a.peakRatio/a.peaks - 1; bias > 0.01 || bias < -0.01 {
		t.Errorf("%s: peaks off by %.2f %%", name, 100*bias)
	}
	if got := m.Wheel.String(); got != g.Name {
		t.Errorf("%s: wheel %q: %s", name, got, m.WheelWhy)
	}
	if g.Sensors[0].Wheel.Gapped() && m.Polarity != Normal || m.Signal != Reluctor {
		t.Errorf("%s: signal %s, polarity %s: %s", name, m.Signal, m.Polarity, m.PolarityWhy)
	}
	return a
}

// meanPeak is the mean of true peaks.
func meanPeak(truth []simulate.Tooth) float64 {
	sum := 0.0
	for _, x := range truth {
		sum += x.PeakV / float64(len(truth))
	}
	return sum
}

// TestRoughTeeth: cranking with 40 % ripple, noise of a fifth of the peak, white
// or not, and ignition sparks of three times the peak: at most one tooth in a
// thousand is missed, and one found too many.
func TestRoughTeeth(t *testing.T) {
	var all tally
	for _, text := range usualWheels {
		for _, compressionDeg := range []float64{0, 70} {
			g := rig(t, text)
			g.Speed = simulate.Steady(200)
			g.LengthS = 6
			g.SampleHz = 100e3
			g.Sensors[0].AtDeg = compressionDeg
			g.Ripple = simulate.Ripple{Share: 0.4, AtRPM: 250, Cylinders: 4}
			_, truth := simulated(t, g, Options{})
			peakV := meanPeak(truth)
			g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.2 * peakV, RateHz: 12000}}
			if compressionDeg > 0 {
				g.Sensors[0].Noise[0].RateHz = 0
			}
			g.Sensors[0].Sparks = []simulate.Spark{{AnglesDeg: []float64{30, 210, 390, 570}, HeightV: 3 * peakV, AtRPM: 200, RingHz: 9000, DecayS: 1e-4}}
			m, truth := simulated(t, g, statedIf(t, text))
			a := compare(g, m, truth)
			a.log(t, fmt.Sprintf("%s, gap at %.0f°", text, compressionDeg))
			all.plus(a)
			if got := m.Wheel.String(); got != text {
				t.Errorf("%s: wheel %q: %s", text, got, m.WheelWhy)
			}
			if m.Polarity == Reversed {
				t.Errorf("%s: polarity reversed: %s", text, m.PolarityWhy)
			}
			if bias := a.peakRatio/a.peaks - 1; bias > 0.03 || bias < -0.03 {
				t.Errorf("%s: peaks off by %.2f %%", text, 100*bias)
			}
		}
		g := rig(t, text)
		g.Speed = simulate.Pull(600, 7500, 2)
		g.LengthS = 2
		g.SampleHz = 200e3
		g.Sensors[0].Noise = []simulate.Noise{{SigmaPerRPMV: 0.2 * 3.5e-3 * 0.7}}
		g.Sensors[0].Sparks = []simulate.Spark{{AnglesDeg: []float64{30, 210, 390, 570}, HeightV: 8, AtRPM: 6000, Power: 1, RingHz: 12000, DecayS: 6e-5}}
		m, truth := simulated(t, g, statedIf(t, text))
		a := compare(g, m, truth)
		a.log(t, text+" pull")
		all.plus(a)
	}
	all.log(t, "all")
	if 1000*all.missed > all.truth || 1000*all.false > all.truth {
		t.Errorf("%d missed, %d false of %d", all.missed, all.false, all.truth)
	}
}

// TestStart: an engine that stands, cranks, catches and idles.
func TestStart(t *testing.T) {
	for _, text := range usualWheels {
		g := rig(t, text)
		g.Speed = simulate.CrankAndStart(200, 2, 900)
		g.LengthS = 5
		g.SampleHz = 100e3
		g.Ripple = simulate.Ripple{Share: 0.4, AtRPM: 250, Cylinders: 4}
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.005, RateHz: 9000}}
		m, truth := simulated(t, g, statedIf(t, text))
		a := compare(g, m, truth)
		a.log(t, text)
		if 500*a.missed > a.truth || 500*a.false > a.truth {
			t.Errorf("%s: %d missed, %d false of %d", text, a.missed, a.false, a.truth)
		}
	}
}
