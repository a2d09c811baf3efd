package wheels

import "testing"

// TestBearsOut: lobes that swing more than the intervals tell of an engine that
// slows down, not of teeth at uneven angles.
func TestBearsOut(t *testing.T) {
	for _, c := range []struct {
		lengths, lobes []float64
		is             bool
	}{
		{[]float64{9, 11, 16}, []float64{1, 1, 1}, true},
		{[]float64{9, 11, 16}, []float64{1, 0.9, 1.1}, true},
		{[]float64{0.067, 0.077, 0.080, 0.076}, []float64{0.36, 0.34, 0.45, 0.47}, false},
		{[]float64{1, 1.01, 0.99, 1}, []float64{1, 1, 1, 0.6}, false},
	} {
		var angles []float64
		for j, length := range c.lengths {
			angles = append(angles, length*c.lobes[j])
		}
		if bearsOut(angles, c.lengths) != c.is {
			t.Errorf("intervals %v, lobes %v: want %v", c.lengths, c.lobes, c.is)
		}
	}
}
