package teeth

import (
	"fmt"
	"math"
	"testing"

	"armcurve/captures/simulate"
)

// TestSparks: sparks of several times a tooth that ring as fast as the teeth come,
// beside a tooth, on its fall and in the gap, hide no tooth and pass for none.
func TestSparks(t *testing.T) {
	for _, height := range []float64{-5, 2, 6} {
		for _, angle := range []float64{66, 68, 70, 166.5} {
			g := rig(t, "60-2")
			g.Speed = simulate.Pull(3000, 7000, 1)
			g.LengthS = 1
			g.SampleHz = 150e3
			_, truth := simulated(t, g, Options{})
			g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.01 * meanPeak(truth)}}
			g.Sensors[0].Sparks = []simulate.Spark{{
				AnglesDeg: []float64{angle, angle + 180, angle + 360, angle + 540}, Jitter: 0.05,
				HeightV: height * meanPeak(truth), AtRPM: 5000, Power: 2, RingHz: 11000, DecayS: 1.2e-4,
			}}
			m, truth := simulated(t, g, Options{})
			a := compare(g, m, truth)
			a.log(t, fmt.Sprintf("%g × at %g°", height, angle))
			if a.missed > 0 || a.false > 1 || m.Unseen > 0 {
				t.Errorf("%g × at %g°: %d missed, %d false, %d unseen of %d", height, angle, a.missed, a.false, m.Unseen, a.truth)
			}
		}
	}
}

// TestSharpDips counts every tooth where the intervals grow by a third from tooth to
// tooth, and shrink again.
func TestSharpDips(t *testing.T) {
	for _, pitches := range []int{12, 24, 36} {
		for _, dipAt := range []float64{0, 0.1, 0.3} {
			b := bumps{places: gapped(pitches, 1), sigma: 0.25 / float64(pitches), rpm: 200}
			turned := 0.0
			v := b.drive(50e3, 4, 0.003, func(_, turns float64) float64 {
				turned = turns
				dip := 0.5 + 0.5*math.Cos(4*math.Pi*(turns-dipAt))
				return 1.4 * 200 * (1 - 0.58*dip*dip)
			})
			m, err := Measure(wave(v, 2e-5, 4096), Options{Wheel: wheel(t, fmt.Sprintf("%d-1", pitches))})
			if err != nil {
				t.Fatal(err)
			}
			if passed := turned * float64(pitches-1); math.Abs(float64(m.Teeth)-passed) > 2 || m.Unseen > 0 {
				t.Errorf("%d-1, dip at %g: %d teeth, %d unseen, %.1f passed; %s, %s", pitches, dipAt, m.Teeth, m.Unseen, passed, m.SignalWhy, m.WheelWhy)
			}
		}
	}
}

// TestLostAmidATooth: where the wave is lost for a while no half of a tooth is
// taken for one, and the count goes on with the right tooth.
func TestLostAmidATooth(t *testing.T) {
	b := bumps{places: gapped(36, 1), sigma: 0.25 / 36, rpm: 3000}
	for shift := range 8 {
		v := b.samples(200e3, 0.5, 0, 0.02)
		from := 40000 + 14*shift
		for i := range v[from : from+1500] {
			v[from+i] *= 0.01
		}
		m, err := Measure(wave(v, 5e-6, 4096), Options{KeepTeeth: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range m.ToothList {
			turns := x.TimeS * 50
			at := turns - math.Floor(turns)
			number := int(math.Round(at*36))%36 + 1
			if off := math.Abs(at*36 - math.Round(at*36)); off > 0.1 || number != x.Number {
				t.Errorf("shift %d: tooth %d found as %d, %.2f pitches off, at %.5f s", shift, number, x.Number, off, x.TimeS)
			}
		}
	}
}
