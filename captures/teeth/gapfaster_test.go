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

// TestFiresUp: an engine that fires while it is cranked, from 200 to 1000 rpm in a quarter
// of a second, has teeth half as far apart as two before: none is passed over.
func TestFiresUp(t *testing.T) {
	const hz, cranking, idle, cranked, rising, compressions = 60e3, 200, 1000, 0.8, 0.25, 2
	w := wheel(t, "12-1")
	for part := range 24 {
		var v []float64
		want := 0
		angle := 0.5 / float64(w.Pitches) // turns
		for i := range int((cranked + rising + 0.5) * hz) {
			base := cranking + (idle-cranking)*min(1, max(0, float64(i)/hz-cranked)/rising)
			ripple := 0.3 * min(1, max(0, 900-base)/700)
			speed := base * (1 + ripple*math.Cos(2*math.Pi*(compressions*angle+float64(part)/24)))
			before := angle * float64(w.Pitches)
			angle += speed / 60 / hz
			x := angle * float64(w.Pitches)
			volts := 0.0
			if place := int(math.Round(x)) % w.Pitches; place < w.Pitches-1 {
				volts = -speed * math.Sin(2*math.Pi*x)
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
