package teeth

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestFasterBehindGap: cranking with a ripple of 40 %, the engine speeds up within the gap
// as it does behind a compression; no tooth behind it is lost, wherever the gap stands.
func TestFasterBehindGap(t *testing.T) {
	const hz, rpm, ripple, turns, compressions = 100e3, 180, 0.4, 3, 2
	w := wheel(t, "60-2")
	random := rand.New(rand.NewPCG(3, 9))
	for part := range 24 {
		var v []float64
		want := 0
		angle := 0.5 / float64(w.Pitches) // turns
		for angle < turns {
			speed := rpm * (1 - ripple*math.Cos(2*math.Pi*(compressions*angle+float64(part)/24)))
			angle += speed / 60 / hz
			x := angle * float64(w.Pitches)
			before := x - speed/60/hz*float64(w.Pitches)
			volts := 0.01 * speed / rpm * random.NormFloat64()
			if place := int(math.Round(x)) % w.Pitches; place < w.Pitches-2 {
				lobe := math.Sin(2 * math.Pi * x)
				volts -= speed / rpm * lobe * (1.25 - 0.25*lobe*lobe)
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
		if got := len(m.ToothList); got < want-1 || got > want+1 { // at the ends
			t.Errorf("phase %d of 24: %d teeth, want %d", part, got, want)
		}
	}
}
