package teeth

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestFasterBehindGap: cranking with a ripple of 40 %, the engine speeds up within the gap
// as it does behind a compression; no tooth behind it is lost, wherever the gap stands.
func TestFasterBehindGap(t *testing.T) {
	const rpm, ripple = 180, 0.4
	random := rand.New(rand.NewPCG(3, 9))
	noise := func() float64 { return 0.01 * rpm * random.NormFloat64() }
	for part := range 24 {
		turning(t, part, "60-2", 100e3, 1, noise, func(_, compression float64) float64 {
			return rpm * (1 - ripple*math.Cos(2*math.Pi*compression))
		})
	}
}

// TestFiresUp: an engine that fires while it is cranked, from 200 to 1000 rpm in a quarter
// of a second, has teeth half as far apart as two before: none is passed over.
func TestFiresUp(t *testing.T) {
	const cranking, idle, cranked, rising = 200, 1000, 0.8, 0.25
	for part := range 24 {
		turning(t, part, "12-1", 60e3, cranked+rising+0.5, func() float64 { return 0 }, func(s, compression float64) float64 {
			base := cranking + (idle-cranking)*min(1, max(0, s-cranked)/rising)
			ripple := 0.3 * min(1, max(0, 900-base)/700)
			return base * (1 + ripple*math.Cos(2*math.Pi*compression))
		})
	}
}

// turning measures a wheel of gated lobes that turns at a speed by time and by compressions,
// two in a turn, and wants all its teeth but for the ends.
func turning(t *testing.T, part int, stated string, hz, seconds float64, noise func() float64, rpm func(s, compression float64) float64) {
	t.Helper()
	const compressions = 2
	w := wheel(t, stated)
	var v []float64
	want := 0
	angle := 0.5 / float64(w.Pitches) // turns
	for i := range int(seconds * hz) {
		speed := rpm(float64(i)/hz, compressions*angle+float64(part)/24)
		before := angle * float64(w.Pitches)
		angle += speed / 60 / hz
		x := angle * float64(w.Pitches)
		volts := noise()
		if place := int(math.Round(x)) % w.Pitches; slices.Contains(w.Positions, place) {
			lobe := math.Sin(2 * math.Pi * x)
			volts -= speed * lobe * (1.25 - 0.25*lobe*lobe)
			if math.Round(x) > before && math.Round(x) <= x {
				want++
			}
		}
		v = append(v, volts)
	}
	m, err := Measure(wave(v, 1/hz, 4096), Options{KeepTeeth: true, Wheel: w})
	if err != nil {
		t.Fatal(err)
	}
	if got := len(m.ToothList); got < want-1 || got > want+1 {
		t.Errorf("phase %d of 24: %d teeth, want %d", part, got, want)
	}
}
