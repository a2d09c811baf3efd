package replay

import "math"

// slope is the exponent of a figure over speed; 0 where the speeds are too
// near each other to tell.
func (h hits) slope(of func(*fault) float64) float64 {
	var n, sx, sy, sxx, sxy float64
	for _, f := range h {
		x, y := math.Log(float64(f.rpm)), math.Log(of(f))
		if x-x != 0 || y-y != 0 {
			continue
		}
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	spread := sxx - sx*sx/max(n, 1)
	if n < 5 || spread < 0.01*n {
		return 0
	}
	return (sxy - sx*sy/n) / spread
}
