package teeth

import (
	"testing"
)

// TestCopiesCrank: a cam's channel in which the crank's teeth outnumber its own is
// told, in phase with them or a quarter of a pitch beside; one with its own teeth
// alone is not, nor one of as many teeth as the crank has pitches.
func TestCopiesCrank(t *testing.T) {
	b, _ := bumpsWithout(t, "36-1", []int{35})
	crank := b.samples(100e3, 3, 0, 0.01)
	own := bumps{places: []float64{0.1, 0.35, 0.7}, sigma: 0.01, rpm: b.rpm / 2}
	many := bumps{sigma: 0.22 / 72, rpm: b.rpm / 2}
	for p := range 72 {
		many.places = append(many.places, float64(p)/72)
	}
	copied := func(share float64, slope bool) []float64 {
		v := own.samples(100e3, 3, 0, 0.01)
		for i := 1; i+1 < len(v); i++ {
			if slope {
				v[i] += share * (crank[i+1] - crank[i-1]) * 6
			} else {
				v[i] += share * crank[i]
			}
		}
		return v
	}
	for _, c := range []struct {
		name string
		cam  []float64
		want bool
	}{
		{"in phase", copied(0.5, false), true},
		{"the rate of change", copied(1.5, true), true},
		{"alone", copied(0, false), false},
		{"as many teeth", many.samples(100e3, 3, 0, 0.01), false},
	} {
		of := func(v []float64, o Options) Measurement {
			m, err := Measure(wave(v, 1e-5, 5000), o)
			if err != nil {
				t.Fatal(err)
			}
			return m
		}
		cam := of(c.cam, Options{OnCam: true})
		evidence, is := CopiesCrank(cam, of(crank, Options{}))
		if is != c.want {
			t.Errorf("%s: %v (%s)", c.name, is, evidence)
		}
	}
}
