package teeth

import (
	"math"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// noisyRig is a rig that turns faster and faster, with noise of a part of the peak.
func noisyRig(t *testing.T, wheel string, perPitch, part float64) simulate.Rig {
	t.Helper()
	g := rig(t, wheel)
	g.Speed = simulate.Profile{{AtS: 0, RPM: 2000}, {AtS: 1, RPM: 2200}}
	g.SampleHz = math.Round(2000.0 / 60 * float64(g.Sensors[0].Wheel.Pitches) * perPitch)
	m, _ := simulated(t, g, Options{Wheel: g.Sensors[0].Wheel})
	g.Sensors[0].Noise = []simulate.Noise{{SigmaV: part * m.Readings[0].PeakV.Value}}
	return g
}

// eachFound goes through the teeth found with the true one nearest to each.
func eachFound(found []captures.Tooth, truth []simulate.Tooth, do func(found captures.Tooth, truth simulate.Tooth)) {
	j := 0
	for _, tooth := range found {
		for j+1 < len(truth) && math.Abs(truth[j+1].TimeS-tooth.TimeS) < math.Abs(truth[j].TimeS-tooth.TimeS) {
			j++
		}
		do(tooth, truth[j])
	}
}

// TestSteadyTurning: in strong noise teeth are placed far better than by the fall of
// each, which is off by 0.04 pitches here, and so is their speed, by 2.7 %.
func TestSteadyTurning(t *testing.T) {
	for _, c := range []struct {
		wheel         string
		perPitch, off float64
	}{{"60-2", 50, 0.01}, {"36-1", 60, 0.015}, {"12-1", 120, 0.02}} {
		g := noisyRig(t, c.wheel, c.perPitch, 0.5)
		m, truth := simulated(t, g, Options{Wheel: g.Sensors[0].Wheel})
		off, faster := 0.0, 0.0
		eachFound(m.ToothList, truth, func(found captures.Tooth, truth simulate.Tooth) {
			pitchS := 60 / truth.RPM / float64(g.Sensors[0].Wheel.Pitches)
			off += math.Pow((found.TimeS-truth.TimeS)/pitchS, 2)
			faster += math.Pow(found.RPM/truth.RPM-1, 2)
		})
		n := float64(len(m.ToothList))
		off, faster = math.Sqrt(off/n), math.Sqrt(faster/n)
		t.Logf("%s: %g teeth of %d, off by %.4f pitches, %.4f of the speed", c.wheel, n, len(truth), off, faster)
		if len(m.ToothList) != len(truth) || off > c.off || faster > 0.01 {
			t.Errorf("%s: %g teeth of %d, off by %.4f pitches, %.4f of the speed", c.wheel, n, len(truth), off, faster)
		}
	}
}

// TestUnevenTurning: an engine that turns unevenly is followed, in noise too: no worse
// than by each tooth's own fall, which is off by 0.024 pitches here.
func TestUnevenTurning(t *testing.T) {
	for _, ripple := range []float64{0.05, 0.15} {
		g := noisyRig(t, "36-1", 60, 0.3)
		g.Ripple = simulate.Ripple{Share: ripple, Cylinders: 4, AtRPM: 2200}
		m, truth := simulated(t, g, Options{Wheel: g.Sensors[0].Wheel})
		off := 0.0
		eachFound(m.ToothList, truth, func(found captures.Tooth, truth simulate.Tooth) {
			off += math.Pow((found.TimeS-truth.TimeS)*truth.RPM/60*36, 2)
		})
		if off = math.Sqrt(off / float64(len(m.ToothList))); off > 0.025 {
			t.Errorf("ripple %g: off by %.4f pitches", ripple, off)
		}
	}
}

// TestUnevenFewTeeth: what a wheel of few teeth does while an engine is cranked is not
// taken for noise.
func TestUnevenFewTeeth(t *testing.T) {
	g := noisyRig(t, "12-1", 60, 0.01)
	g.Speed, g.LengthS = simulate.Steady(250), 4
	g.Ripple = simulate.Ripple{Share: 0.3, Cylinders: 8, AtRPM: 250}
	g.SampleHz = 20e3
	g.Sensors[0].Noise[0].SigmaV /= 8 // the peak is less as well
	m, truth := simulated(t, g, Options{Wheel: g.Sensors[0].Wheel})
	off := 0.0
	eachFound(m.ToothList, truth, func(found captures.Tooth, truth simulate.Tooth) {
		off += math.Pow((found.TimeS-truth.TimeS)*250/60*12, 2)
	})
	if off = math.Sqrt(off / float64(len(m.ToothList))); off > 0.005 {
		t.Errorf("off by %.4f pitches", off)
	}
}

// TestPulsesInGaps: noise makes pulses in the gaps of a wheel that turns evenly; hardly
// any tooth loses its number.
func TestPulsesInGaps(t *testing.T) {
	wrong, all := 0, 0
	for seed := uint64(1); seed <= 6; seed++ {
		g := noisyRig(t, "60-2", 30, 0.4)
		g.Seed = seed
		g.Sensors[0].Noise[0].RateHz = g.SampleHz / 12
		m, truth := simulated(t, g, Options{Wheel: g.Sensors[0].Wheel})
		if len(m.ToothList) > len(truth) {
			t.Errorf("seed %d: %d teeth, want %d", seed, len(m.ToothList), len(truth))
		}
		all += len(truth)
		eachFound(m.ToothList, truth, func(found captures.Tooth, truth simulate.Tooth) {
			if found.Number != truth.Number {
				wrong++
			}
		})
	}
	t.Logf("%d of %d teeth have another's number", wrong, all)
	if wrong > all/50 {
		t.Errorf("%d of %d teeth have another's number, want 2 %% at most", wrong, all)
	}
}
