package teeth

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestFold: noise of half of the peak and more hides the order of intervals, but not
// which places of the wheel hold teeth; and of noise alone no wheel is made.
func TestFold(t *testing.T) {
	const hz, seconds, keep = 100e3, 2.0, 0.5
	for _, c := range []struct {
		pitches, missing int
		wheel            string
	}{{36, 1, "36-1"}, {60, 2, "60-2"}, {36, 2, "36-2"}} {
		b := bumps{places: gapped(c.pitches, c.missing), sigma: 0.24 / float64(c.pitches), rpm: 2000}
		_, peakV := b.truth(10)
		for _, share := range []float64{1, 0} { // of the teeth in the wave
			random := rand.New(rand.NewPCG(11, 12))
			v := b.samples(hz, seconds, 0, 0)
			noise := 0.0
			for i := range v {
				noise = keep*noise + 0.6*peakV*0.866*random.NormFloat64() // its standard deviation 0.6 of the peak
				v[i] = share*v[i] + noise
			}
			for _, stated := range []string{"", c.wheel} {
				var o Options
				if stated != "" {
					o.Wheel = wheel(t, stated)
				}
				m, err := Measure(wave(v, 1/hz, 4096), o)
				if err != nil {
					t.Fatal(err)
				}
				if want := map[float64]string{1: c.wheel, 0: ""}[share]; m.Wheel.String() != want {
					t.Errorf("%s, share %g, stated %q: wheel %q (%s), signal %s", c.wheel, share, stated, m.Wheel, m.WheelWhy, m.Signal)
				}
			}
		}
	}
}

// TestFoldOfEvenGaps: a stated wheel whose order comes several times in a turn is seen in
// such noise, too.
func TestFoldOfEvenGaps(t *testing.T) {
	const hz, seconds = 100e3, 2.0
	b, teeth := bumpsWithout(t, "36-2-2-2", []int{10, 11, 22, 23, 34, 35})
	_, peakV := b.truth(10)
	random := rand.New(rand.NewPCG(17, 14))
	v := b.samples(hz, seconds, 0, 0)
	noise := 0.0
	for i := range v {
		noise = 0.5*noise + 0.65*peakV*0.866*random.NormFloat64()
		v[i] += noise
	}
	m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, "36-2-2-2")})
	if err != nil {
		t.Fatal(err)
	}
	want := b.rpm / 60 * seconds * float64(teeth)
	if m.Wheel.String() != "36-2-2-2" || math.Abs(float64(m.Teeth+m.Unseen)-want) > 0.01*want {
		t.Errorf("wheel %q (%s), %d teeth, %d unseen, want %g", m.Wheel, m.WheelWhy, m.Teeth, m.Unseen, want)
	}
}
