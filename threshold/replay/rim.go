package replay

import (
	"math"
	"sort"
)

// rim is how high the teeth of the wheel rise beside each other.
type rim struct {
	level  []float64 // mean height of each tooth ÷ that of all, from tooth 1; 0 unknown
	swing  []float64 // the once-per-turn part of it
	beside []bool    // beside a gap
	amount float64   // of the swing
	lowest int       // tooth at its bottom
	spread float64   // usual deviation from the swing
	short  []bool    // far below it
}

// rimOf fits the run-out to the teeth that are not beside a gap; those that are
// far off are taken out of the fit and called short where they are below.
func rimOf(slots []slot) *rim {
	n := len(slots)
	r := &rim{level: make([]float64, n), swing: make([]float64, n), beside: make([]bool, n), short: make([]bool, n)}
	for k := range slots {
		r.level[k] = slots[k].mean()
		r.beside[k] = slots[k].isAfterGap() || slots[(k+1)%n].isAfterGap()
	}
	left := make([]bool, n)
	for range 3 {
		mean, c, s := r.fit(left)
		r.amount = math.Hypot(c, s) / max(mean, 1e-9)
		low := math.Inf(1)
		for k := range n {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(n))
			r.swing[k] = (mean + c*cos + s*sin) / max(mean, 1e-9)
			if r.swing[k] < low {
				low, r.lowest = r.swing[k], k+1
			}
		}
		r.leaveOut(left)
	}
	return r
}

// leaveOut marks what is far off the swing.
func (r *rim) leaveOut(left []bool) {
	var off []float64
	for k := range r.level {
		if !r.beside[k] && r.level[k] > 0 {
			off = append(off, math.Abs(r.level[k]/r.swing[k]-1))
		}
	}
	if len(off) == 0 {
		return
	}
	sort.Float64s(off)
	r.spread = 1.5 * off[len(off)/2]
	for k := range r.level {
		d := r.level[k]/r.swing[k] - 1
		left[k] = math.Abs(d) > max(0.06, 4*r.spread)
		r.short[k] = left[k] && d < 0 && !r.beside[k] && r.level[k] > 0
	}
}

// fit is the mean and the first harmonic, by least squares.
func (r *rim) fit(left []bool) (mean, c, s float64) {
	var a [3][4]float64
	for k, level := range r.level {
		if level <= 0 || r.beside[k] || left[k] {
			continue
		}
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(len(r.level)))
		row := [3]float64{1, cos, sin}
		for i := range 3 {
			for j := range 3 {
				a[i][j] += row[i] * row[j]
			}
			a[i][3] += row[i] * level
		}
	}
	return solve3(a)
}

// solve3 solves three equations; the mean alone where they do not tell more.
func solve3(a [3][4]float64) (x, y, z float64) {
	if a[0][0] < 5 {
		return a[0][3] / max(a[0][0], 1), 0, 0
	}
	for i := range 3 {
		pivot := i
		for j := i + 1; j < 3; j++ {
			if math.Abs(a[j][i]) > math.Abs(a[pivot][i]) {
				pivot = j
			}
		}
		a[i], a[pivot] = a[pivot], a[i]
		if math.Abs(a[i][i]) < 1e-9 {
			return a[0][3] / max(a[0][0], 1), 0, 0
		}
		for j := range 3 {
			if j == i {
				continue
			}
			k := a[j][i] / a[i][i]
			for m := i; m < 4; m++ {
				a[j][m] -= k * a[i][m]
			}
		}
	}
	return a[0][3] / a[0][0], a[1][3] / a[1][1], a[2][3] / a[2][2]
}

// of is a tooth's place on the rim; ok is false for a number it has not.
func (r *rim) of(f *fault) (k int, ok bool) {
	k = int(f.tooth) - 1
	return k, k >= 0 && k < len(r.level) && r.level[k] > 0
}

// cured tells that a missed tooth would have passed the threshold if it rose by
// 1/share.
func cured(f *fault, share float64) bool {
	return !f.is(isFalse|isUnseen) && share > 0 && share < 1 && float64(f.heightV)/share > float64(f.thresholdV)
}
