package teeth

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures/simulate"
	"armcurve/captures/teeth/median"
)

// TestTonesUnderTeeth: hum and an alternator are told beside the noise of a turning
// engine, not as a part of it, and noise alone has none.
func TestTonesUnderTeeth(t *testing.T) {
	hum := simulate.Tone{AmplitudeV: 0.1, Hz: 50}
	alternator := simulate.Tone{AmplitudeV: 0.2, PerTurn: 11.7}
	for _, c := range []struct {
		name, wheel string
		speed       simulate.Profile
		ripple      float64
		tone        simulate.Tone
	}{
		{"hum", "36-1", simulate.Steady(330), 0, hum},
		{"hum while cranking", "36-1", simulate.Steady(211), 0.4, hum},
		{"hum while cranking", "60-2", simulate.Steady(211), 0.2, hum},
		{"alternator", "60-2", simulate.Steady(1000), 0, alternator},
		{"alternator in a pull", "36-1", simulate.Pull(800, 6000, 4), 0, alternator},
		{"none", "36-1", simulate.Steady(1000), 0, simulate.Tone{}},
		{"none in a pull", "12-1", simulate.Pull(800, 6000, 4), 0, simulate.Tone{}},
	} {
		const sigma = 0.05
		name := c.name + " " + c.wheel
		g := rig(t, c.wheel)
		g.Speed, g.LengthS = c.speed, 4
		g.Ripple = simulate.Ripple{Share: c.ripple, AtRPM: 200, Cylinders: 4}
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: sigma, RateHz: 12000}}
		if c.tone.AmplitudeV > 0 {
			g.Sensors[0].Tones = []simulate.Tone{c.tone}
		}
		m, _ := simulated(t, g, Options{Wheel: wheel(t, c.wheel)})
		var noise, rate, tone []float64
		for _, r := range m.Readings {
			if r.NoiseRMSV.Known {
				noise, rate, tone = append(noise, r.NoiseRMSV.Value), append(rate, r.NoiseRateHz.Value), append(tone, r.ToneV.Or(0))
			}
			if r.ToneV.Known && c.tone.AmplitudeV == 0 {
				t.Errorf("%s: a tone of %.3g V at %.0f rpm", name, r.ToneV.Value, r.RPM)
			}
			if r.ToneV.Known && r.NoiseV.Value < r.ToneV.Value+2*sigma {
				t.Errorf("%s: the largest noise at %.0f rpm is %.3g V beside a tone of %.3g V", name, r.RPM, r.NoiseV.Value, r.ToneV.Value)
			}
		}
		near(t, name+": noise", median.Of(noise), sigma, 0.07)
		near(t, name+": rate", median.Of(rate), 12000, 0.1)
		near(t, name+": tone", median.Of(tone), c.tone.AmplitudeV, 0.07)
	}
}

// TestSmoothMiddle: chance is averaged out, one outlier left out, and what changes
// slowly followed.
func TestSmoothMiddle(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 1))
	const trials = 2000
	for _, c := range []struct {
		name   string
		of     func(i int) float64
		spread float64 // root mean square of what comes out, that of one value being 1
	}{
		{"a line", func(i int) float64 { return 3 * float64(i) }, 0.4},
		{"with an outlier", func(i int) float64 { return map[int]float64{2: 50}[i] }, 0.55},
		{"a bend", func(i int) float64 { return 5 * float64(i*i) }, 1.6},
	} {
		sum := 0.0
		for range trials {
			var x, y []float64
			for i := -settledTeeth; i <= settledTeeth; i++ {
				x, y = append(x, float64(i)), append(y, c.of(i)+random.NormFloat64())
			}
			off := smoothMiddle(x, y)
			sum += off * off
		}
		if spread := math.Sqrt(sum / trials); spread > c.spread {
			t.Errorf("%s: off by %.3g, want %.3g", c.name, spread, c.spread)
		}
	}
}

// TestNoiseOfTurnsAlike: neither teeth that differ nor the times that noise moves come
// on top of the noise, where turns are alike.
func TestNoiseOfTurnsAlike(t *testing.T) {
	for _, c := range []struct {
		wheel         string
		runOutMM      float64
		sigma, rateHz float64
	}{{"24", 0.2, 0.01, 20000}, {"36-1", 0.2, 0.01, 20000}, {"60-2", 0.2, 0.05, 2000}, {"36-1", 0, 0.1, 4000}} {
		g := rig(t, c.wheel)
		g.LengthS = 2
		g.Sensors[0].RunOutMM = c.runOutMM
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: c.sigma, RateHz: c.rateHz}}
		m, _ := simulated(t, g, Options{Wheel: wheel(t, c.wheel)})
		if len(m.Readings) != 1 {
			t.Errorf("%s: %d readings", c.wheel, len(m.Readings))
			continue
		}
		near(t, fmt.Sprintf("%s, run-out %g: noise", c.wheel, c.runOutMM), m.Readings[0].NoiseRMSV.Value, c.sigma, 0.06)
	}
}

// TestHumIsNoWheel: hum that is less high than the teeth, though its slow swings hold more
// flux, is not taken for the wave.
func TestHumIsNoWheel(t *testing.T) {
	const hz, seconds, rpm = 50e3, 2.0, 900.0
	b := bumps{places: gapped(36, 1), sigma: 0.2 / 36, rpm: rpm}
	_, peakV := b.truth(0)
	for _, share := range []float64{0.35, 0.6} {
		v := b.drive(hz, seconds, 0.01*peakV, func(s, _ float64) float64 { return rpm + 500*s })
		for i := range v {
			v[i] += share * peakV * math.Sin(2*math.Pi*50*float64(i)/hz)
		}
		m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, "36-1")})
		if err != nil {
			t.Fatal(err)
		}
		if want := 35 * seconds * (rpm + 500) / 60; math.Abs(float64(m.Teeth)-want) > 40 || len(m.Readings) == 0 || m.Readings[0].RPM < rpm {
			t.Errorf("hum of %.0f %% of the peak: %d teeth, %.0f passed", 100*share, m.Teeth, want)
		}
	}
}
