package noise

import (
	"math"
	"testing"
)

// What two marks close together bound is no pitch: nothing is taken there, rather
// than the other pitches' wave many times as large.
func TestNeighboursOfNoPitch(t *testing.T) {
	v := make([]float64, 1000)
	for i := range v {
		v[i] = math.Sin(2 * math.Pi * float64(i) / 50)
	}
	w := Wave{V: v}
	row := func(from, length float64) Interval {
		return Interval{At: [4]float64{from - length, from, from + length, from + 2*length}, Gain: [2]float64{1, 1}}
	}
	for _, c := range []struct {
		length float64
		taken  bool
	}{{50, true}, {40, true}, {3, false}} {
		var s ByPart
		b := Comparison{Own: row(300, c.length), Others: []Interval{row(250, 50), row(350, 50)}}
		b.Compare(w, &s)
		n := int64(0)
		for i := range s {
			n += s[i].n
		}
		if (n > 0) != c.taken {
			t.Errorf("an interval of %g samples beside ones of 50: %d taken", c.length, n)
		}
	}
}
