package teeth

import (
	"math"
	"slices"
	"testing"
	"unsafe"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// viewing keeps all that a watcher is given, and how much of the wave it had when it
// was given each tooth.
type viewing struct {
	Samples []float64
	Teeth   []Passage
	Had     []int
}

func (v *viewing) Wave(first int64, some []float64) {
	if int(first) != len(v.Samples) {
		panic("the wave is given in one piece")
	}
	v.Samples = append(v.Samples, some...)
}

func (v *viewing) Tooth(p Passage) {
	v.Teeth, v.Had = append(v.Teeth, p), append(v.Had, len(v.Samples))
}

// TestTrack: a capture that is played again gives a watcher what it was given while
// the capture was measured, whatever the blocks, with a stop, places without a
// number and the last tooth at the very end.
func TestTrack(t *testing.T) {
	if size := unsafe.Sizeof(step{}); size != TrackBytes {
		t.Errorf("a tooth takes %d bytes, want %d", size, TrackBytes)
	}
	b := bumps{places: make([]float64, 35), sigma: 0.006, rpm: 2000}
	for i := range b.places {
		b.places[i] = float64(i) / 36
	}
	turning := b.samples(100e3, 0.5, 0.3, 0.05)
	v := slices.Concat(turning, slices.Repeat([]float64{0.3}, 30000), turning)
	for _, i := range []int{700, 701, 9000, len(v) - 1} {
		v[i] = math.NaN()
	}
	v[1200] = math.Inf(1)
	for _, negative := range []bool{false, true} {
		if negative {
			for i := range v {
				v[i] = -v[i]
			}
		}
		var first, again viewing
		o := Options{KeepTrack: true, Watch: &first, Negative: negative}
		m, err := Measure(wave(v, 1e-5, 5000), o)
		if err != nil {
			t.Fatal(err)
		}
		o.Watch = &again
		if err := m.Track.Play(wave(v, 1e-5, 1777), o); err != nil {
			t.Fatal(err)
		}
		for i := range first.Teeth {
			p := &first.Teeth[i]
			p.PeakV, p.RPM, p.RestV = float64(float32(p.PeakV)), float64(float32(p.RPM)), float64(float32(p.RestV))
		}
		if d := cmp.Diff(first, again, cmpopts.EquateNaNs()); d != "" {
			t.Errorf("negative %v: played again it differs:\n%s", negative, d)
		}
		if len(first.Teeth) < 1000 || len(first.Samples) != len(v) {
			t.Errorf("negative %v: %d teeth, %d of %d samples", negative, len(first.Teeth), len(first.Samples), len(v))
		}
		seen := m.Track.Falls()
		if n := int(m.Teeth); len(seen) != n || !slices.IsSorted(seen) {
			t.Errorf("negative %v: %d falls, not in order or not those of %d teeth", negative, len(seen), n)
		}
	}
}
