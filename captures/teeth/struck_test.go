package teeth

import (
	"fmt"
	"math"
	"math/rand/v2"
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

// TestSparkOnFall: sparks that begin on a tooth's fall and fill the space behind it, from
// which they lift the wave as far as the tooth takes it down, take no tooth out of the
// count, whether the wave goes farther with them than without or not, and make none the
// weakest.
func TestSparkOnFall(t *testing.T) {
	const hz, rpm, seconds = 100e3, 6500.0, 2.0
	for _, height := range []float64{1, 1.4, 2} {
		for _, decayS := range []float64{40e-6, 60e-6} {
			b := bumps{places: gapped(36, 1), sigma: 0.12 / 36, rpm: rpm}
			fall, peakV := b.truth(7)
			v := b.samples(hz, seconds, 0, 0.06*peakV)
			for turn := range int(math.Floor(seconds * rpm / 60)) {
				for _, opposite := range []float64{0, 0.5} {
					early := 0.1 * math.Sin(float64(turn)) // pitches
					at := (float64(turn) + fall + opposite - early/36) * 60 / rpm * hz
					for i := int(at) + 1; i < min(int(at)+30, len(v)); i++ {
						v[i] += height * peakV * math.Exp(-(float64(i)-at)/hz/decayS)
					}
				}
			}
			m, err := Measure(wave(v, 1/hz, 4096), Options{KeepTeeth: true, Wheel: wheel(t, "36-1")})
			if err != nil {
				t.Fatal(err)
			}
			name := fmt.Sprintf("%g × for %g s", height, decayS)
			expectTeeth(t, name, m, 36, rpm, seconds)
			if r := m.Readings[0]; r.WeakestV.Value < 0.96*r.PeakV.Value {
				t.Errorf("%s: weakest %.4g V of %.4g V", name, r.WeakestV.Value, r.PeakV.Value)
			}
		}
	}
}

// TestSparkOnTop: sparks that take the tops of teeth to rest, no farther than the wave goes
// anyway, move no tooth to where the wave first falls, beside a gap or amid others. In the
// first turns, and at the very end, no speed about them is known.
func TestSparkOnTop(t *testing.T) {
	const hz, rpm, seconds = 200e3, 4200.0, 2.0
	b := bumps{places: gapped(60, 2), sigma: 0.25 / 60, rpm: rpm}
	fall, peakV := b.truth(0)
	v := b.samples(hz, seconds, 0, 0.005*peakV)
	pitch := hz * 60 / rpm / 60
	for turn := range int(math.Floor(seconds * rpm / 60)) {
		for _, tooth := range []float64{16, 36, 56} {
			at := (float64(turn)*60 + fall*60 + tooth) * pitch
			for i := int(at - 0.28*pitch); i < int(at); i++ {
				v[i] = min(v[i], -0.02*peakV*(1+math.Sin(float64(turn))))
			}
		}
	}
	m, err := Measure(wave(v, 1/hz, 4096), Options{KeepTeeth: true, Wheel: wheel(t, "60-2")})
	if err != nil {
		t.Fatal(err)
	}
	if passed := seconds * rpm / 60 * 58; math.Abs(float64(len(m.ToothList))-passed) > 2 {
		t.Errorf("%d teeth, %.0f passed", len(m.ToothList), passed)
	}
	for _, x := range m.ToothList {
		at := (x.TimeS*hz - fall*60*pitch) / pitch
		if off := at - math.Round(at); math.Abs(off) > 0.1 && x.TimeS > 0.1 && x.TimeS < seconds-0.1 {
			t.Errorf("tooth %d at %.4f s is off by %.2f pitches", x.Number, x.TimeS, off)
		}
	}
}

// expectTeeth expects those of a wheel with one tooth missing that turns evenly, each
// within 0.3 pitches, under its number.
func expectTeeth(t *testing.T, name string, m Measurement, pitches int, rpm, seconds float64) {
	t.Helper()
	wrong := 0
	for _, x := range m.ToothList {
		at := x.TimeS * rpm / 60 * float64(pitches)
		number := int(math.Round(at))%pitches + 1
		if math.Abs(at-math.Round(at)) > 0.3 || number != x.Number {
			wrong++
		}
	}
	passed := seconds * rpm / 60 * float64(pitches-1)
	if wrong > 0 || m.Unseen > 0 || math.Abs(float64(len(m.ToothList))-passed) > 2 {
		t.Errorf("%s: of %d teeth %d are wrong, %d unseen; %.0f passed", name, len(m.ToothList), wrong, m.Unseen, passed)
	}
}

// TestNoiseOfTeethsOwn: noise no faster than the teeth come, which moves each of them by
// a tenth of a pitch and lets intervals follow that differ by half, puts no tooth out of
// the count where sparks come as well.
func TestNoiseOfTeethsOwn(t *testing.T) {
	const hz, rpm, seconds = 200e3, 6000.0, 1.0
	b := bumps{places: gapped(60, 1), sigma: 0.25 / 60, rpm: rpm}
	fall, peakV := b.truth(7)
	for seed := range uint64(4) {
		random := rand.New(rand.NewPCG(seed, 8))
		v := b.samples(hz, seconds, 0, 0)
		var poles [4]float64
		for i := range v {
			x := random.NormFloat64()
			for k := range poles { // as low-pass filters in a row do
				poles[k] += (x - poles[k]) * 0.3
				x = poles[k]
			}
			v[i] += 0.2 * peakV * x / 0.263
		}
		for turn := range int(math.Floor(seconds * rpm / 60)) {
			at := (float64(turn) + fall + 0.3/60) * 60 / rpm * hz
			for i := int(at) + 1; i < min(int(at)+60, len(v)); i++ {
				v[i] += 1.5 * peakV * math.Exp(-(float64(i)-at)/20) * random.NormFloat64()
			}
		}
		m, err := Measure(wave(v, 1/hz, 4096), Options{KeepTeeth: true, Wheel: wheel(t, "60-1")})
		if err != nil {
			t.Fatal(err)
		}
		expectTeeth(t, fmt.Sprintf("seed %d", seed), m, 60, rpm, seconds)
	}
}
