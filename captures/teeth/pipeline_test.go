package teeth

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// slow follows a wave and takes its time.
type slow struct {
	wave  []float64
	teeth int
}

func (s *slow) Wave(first int64, v []float64) { s.wave = append(s.wave, v...) }

func (s *slow) Tooth(Passage) {
	if s.teeth++; s.teeth%40 == 0 {
		time.Sleep(2 * time.Millisecond)
	}
}

// TestLent measures an engine that stops and starts again, and gathers so slowly
// that the wave is always lent: what is lent must stay as it is, and what is
// measured must not hang on who is quicker.
func TestLent(t *testing.T) {
	b := bumps{places: make([]float64, 35), sigma: 0.006, rpm: 2000}
	for i := range b.places {
		b.places[i] = float64(i) / 36
	}
	turning := b.samples(100e3, 0.8, 0.3, 0.05)
	v := slices.Concat(turning, slices.Repeat([]float64{0.3}, 60000), turning)
	quick, err := Measure(wave(v, 1e-5, 5000), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var s slow
	slowly, err := Measure(wave(v, 1e-5, 5000), Options{Watch: &s})
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(quick, slowly, cmp.AllowUnexported(Measurement{}, crankTurn{})); d != "" {
		t.Errorf("gathering slowly makes a difference:\n%s", d)
	}
	if !slices.Equal(s.wave, v) {
		t.Errorf("the watcher's wave of %d samples is not that of %d samples", len(s.wave), len(v))
	}
	if want := 2 * 35 * 0.8 * 2000 / 60; math.Abs(float64(quick.Teeth)-want) > 4 {
		t.Errorf("%d teeth, want about %.0f", quick.Teeth, want)
	}
}
