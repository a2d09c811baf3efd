package noise

import (
	"math"
	"testing"
)

// TestSeriesOfATone: what a method leaves of a tone is what its series says, so
// that the tone is found with its own amplitude, and nothing is left of it.
func TestSeriesOfATone(t *testing.T) {
	const perTurn, samples = 27.9, 5000.0
	for _, c := range []struct {
		name   string
		rate   rates
		sample func(at float64) float64
	}{
		{"over time", rates{0.0031, 0}, func(at float64) float64 { return math.Sin(2*math.Pi*0.0031*at + 1) }},
		{"over angle", rates{0, perTurn}, func(at float64) float64 { return math.Sin(2 * math.Pi * perTurn * turnsAt(at)) }},
	} {
		v := make([]float64, samples)
		for i := range v {
			v[i] = 0.3 * c.sample(float64(i))
		}
		w := Wave{V: v}
		var all ByPart
		series := new(Series)
		for j := 4; j < 40; j++ {
			b := Comparison{Own: pitchAt(j), Others: []Interval{pitchAt(j - 1), pitchAt(j + 1)}, Series: series}
			b.Compare(w, &all)
		}
		series.place(nil, samples)
		found, _ := series.fit(c.rate)
		near(t, c.name, found.amplitude(), 0.3, 0.01)
		before := series.scale()
		series.take(&found, 1)
		if left := series.scale() / before; left > 0.01 {
			t.Errorf("%s: %.3g of a tone is left", c.name, left)
		}
	}
}

// turnsAt and pitchAt are of a wheel of 36 that gathers speed.
func turnsAt(at float64) float64 { return at / 3600 * (1 + at/40000) }

func pitchAt(j int) (s Interval) {
	for i := range s.At {
		turns := float64(j+i-1) / 36
		s.At[i] = 20000 * (math.Sqrt(1+4*turns*3600/40000) - 1)
	}
	s.Gain, s.Turned, s.Part = [2]float64{1, 1}, float64(j)/36, 1.0/36
	return s
}
