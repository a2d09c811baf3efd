package teeth

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures/simulate"
)

// TestNoiseWhileCranking: neither few teeth nor an engine that slows down at every
// compression are noise.
func TestNoiseWhileCranking(t *testing.T) {
	for _, c := range []struct {
		wheel  string
		ripple float64
	}{{"6-1", 0.15}, {"12-1", 0.25}, {"24", 0.4}, {"36-1", 0.4}} {
		text := c.wheel
		g := rig(t, text)
		g.Speed, g.LengthS = simulate.Steady(200), 4
		g.SampleHz = 40e3
		g.Ripple = simulate.Ripple{Share: c.ripple, AtRPM: 200, Cylinders: 4}
		quiet, _ := simulated(t, g, Options{Wheel: wheel(t, text)})
		if len(quiet.Readings) != 1 {
			t.Errorf("%s: %d readings: %s", text, len(quiet.Readings), quiet.WheelWhy)
			continue
		}
		sigma := 0.005 * quiet.Readings[0].PeakV.Value
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: sigma, RateHz: 6000}}
		m, _ := simulated(t, g, Options{Wheel: wheel(t, text)})
		if len(m.Readings) != 1 {
			t.Errorf("%s in noise: %d readings: %s", text, len(m.Readings), m.WheelWhy)
			continue
		}
		r := m.Readings[0]
		near(t, text+" noise", r.NoiseRMSV.Value, sigma, 0.10)
		near(t, text+" rate", r.NoiseRateHz.Value, 6000, 0.15)
	}
}

// TestPeaksOfLeaningLobes: the peak after a gap is right from the first turn on, and
// noise takes nothing from any.
func TestPeaksOfLeaningLobes(t *testing.T) {
	for _, noise := range []float64{0, 0.03} {
		b := bumps{sigma: 0.011, rpm: 3000}
		for p := range 11 {
			b.places = append(b.places, (float64(p)+0.5)/12)
		}
		m, err := Measure(wave(b.samples(50e3, 0.8, 0, noise), 2e-5, 4096), Options{Wheel: wheel(t, "12-1"), KeepTeeth: true})
		if err != nil {
			t.Fatal(err)
		}
		sums, ns := make([]float64, 11), make([]float64, 11)
		for _, tooth := range m.ToothList[2 : len(m.ToothList)-2] {
			j := tooth.Number - 1
			_, peakV := b.truth(j)
			if noise == 0 {
				near(t, "peak", tooth.PeakV, peakV, 0.01)
			}
			sums[j] += tooth.PeakV / peakV
			ns[j]++
		}
		for j := range sums {
			near(t, "mean peak", sums[j]/ns[j], 1, 0.005)
		}
	}
}

// TestNoiseAmidSparks: sparks that ring over several teeth are no part of the noise,
// but are told, while the speed changes from turn to turn.
func TestNoiseAmidSparks(t *testing.T) {
	for _, c := range []struct {
		wheel  string
		sparks simulate.Spark
	}{
		{"60-2", simulate.Spark{AnglesDeg: []float64{50, 170, 290, 410, 530, 650}, RingHz: 12000, DecayS: 1e-4}},
		{"36-1", simulate.Spark{AnglesDeg: []float64{30, 120, 210, 300, 390, 480, 570, 660}, DecayS: 8e-5}},
	} {
		g := rig(t, c.wheel)
		g.Speed, g.LengthS, g.SampleHz = simulate.Pull(4000, 7000, 2), 2, 150e3
		_, truth := simulated(t, g, Options{})
		peakV := meanPeak(truth)
		sigma := 0.005 * peakV
		c.sparks.HeightV, c.sparks.AtRPM, c.sparks.Jitter = 0.3*peakV, 5000, 0.1
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: sigma}}
		g.Sensors[0].Sparks = []simulate.Spark{c.sparks}
		m, _ := simulated(t, g, Options{Wheel: wheel(t, c.wheel)})
		square, all := 0.0, 0.0
		for _, r := range m.Readings {
			square += r.NoiseRMSV.Value * r.NoiseRMSV.Value * r.NoiseRecordS.Value
			all += r.NoiseRecordS.Value
			if s := r.SpikeV.Value; s < 0.5*c.sparks.HeightV || s > 1.6*c.sparks.HeightV {
				t.Errorf("%s at %.0f rpm: spikes of %.3g V, want about %.3g", c.wheel, r.RPM, s, c.sparks.HeightV)
			}
		}
		near(t, c.wheel+" noise", math.Sqrt(square/all), sigma, 0.1)
	}
}

// TestNoiseGrowsInAQuickPull: noise that grows with speed is given to the speed at which it
// was, though turns on either side tell that of the one between.
func TestNoiseGrowsInAQuickPull(t *testing.T) {
	const hz, seconds, share = 200e3, 2.5, 0.05
	b := bumps{places: gapped(36, 1), sigma: 0.2 / 36, rpm: 1000}
	_, peakV := b.truth(0)
	rpmAt := func(s, _ float64) float64 { return 500 + 2400*s }
	v := b.drive(hz, seconds, 0, rpmAt)
	random := rand.New(rand.NewPCG(7, 7))
	for i := range v {
		v[i] += share * peakV * rpmAt(float64(i)/hz, 0) / b.rpm * random.NormFloat64()
	}
	m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, "36-1")})
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, r := range m.Readings {
		if r.NoiseRMSV.Known && r.RPM > 800 && r.RPM < 2000 {
			seen++
			near(t, fmt.Sprintf("at %.0f rpm", r.RPM), r.NoiseRMSV.Value, share*peakV*r.RPM/b.rpm, 0.06)
		}
	}
	if seen < 8 {
		t.Errorf("%d readings with noise", seen)
	}
}
