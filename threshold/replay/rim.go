package replay

import (
	"math"
	"sort"
)

// rim is how high the teeth of the wheel rise beside each other.
type rim struct {
	places []float64 // of the teeth on the wheel, turns
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
func rimOf(slots []slot, places []float64) *rim {
	n := len(slots)
	r := &rim{places: places, level: make([]float64, n), swing: make([]float64, n), beside: make([]bool, n), short: make([]bool, n)}
	for k := range slots {
		r.level[k] = slots[k].mean()
		r.beside[k] = slots[k].isAfterGap() || slots[(k+1)%n].isAfterGap()
	}
	left := r.odd()
	for range 3 {
		r.swingWithout(left)
		r.leaveOut(left)
	}
	return r
}

// swingWithout fits the once-per-turn part to the teeth that are not left out.
func (r *rim) swingWithout(left []bool) {
	mean, c, s := r.fit(left)
	r.amount = math.Hypot(c, s) / max(mean, 1e-9)
	low := math.Inf(1)
	for k := range r.level {
		sin, cos := math.Sincos(2 * math.Pi * r.places[k])
		r.swing[k] = (mean + c*cos + s*sin) / max(mean, 1e-9)
		if r.swing[k] < low {
			low, r.lowest = r.swing[k], k+1
		}
	}
}

const (
	oddMost  = 0.25 // of the teeth may be odd ones
	oddGain  = 4.0  // by which the fit's squares shrink without an odd one
	fewTeeth = 16   // up to which every pair of odd ones is tried
)

// odd are the teeth that the fit is much the better without, found one by one,
// since two may hide each other. On a wheel of few teeth a short one bends the
// whole fit, and how far it is from that tells little.
func (r *rim) odd() []bool {
	n := len(r.level)
	left := make([]bool, n)
	var order []int
	keep, squares := 0, r.squares(left)
	most := int(oddMost * float64(n))
	if most >= 2 && n <= fewTeeth {
		if pair, least := r.oddestPair(left); oddGain*oddGain*least <= squares {
			order, keep, squares = pair[:], 2, least
			left[pair[0]], left[pair[1]] = true, true
		}
	}
	for len(order) < most {
		at, least := r.oddest(left)
		if at < 0 {
			break
		}
		order = append(order, at)
		left[at] = true
		if oddGain*least <= squares {
			keep = len(order)
		}
		squares = least
	}
	for _, k := range order[keep:] {
		left[k] = false
	}
	return left
}

// oddest is the tooth without which the fit leaves the least squares; -1 where
// none has any.
func (r *rim) oddest(left []bool) (at int, squares float64) {
	at, squares = -1, r.squares(left)
	for k := range left {
		if !r.isFitted(k, left) {
			continue
		}
		left[k] = true
		if s := r.squares(left); s < squares {
			at, squares = k, s
		}
		left[k] = false
	}
	return at, squares
}

// oddestPair are the two teeth without which the fit leaves the least squares.
func (r *rim) oddestPair(left []bool) (pair [2]int, squares float64) {
	squares = math.Inf(1)
	for k := range left {
		if !r.isFitted(k, left) {
			continue
		}
		left[k] = true
		if other, s := r.oddest(left); other >= 0 && s < squares {
			pair, squares = [2]int{k, other}, s
		}
		left[k] = false
	}
	return pair, squares
}

// squares is the sum of squares of the fit that leaves some teeth out.
func (r *rim) squares(left []bool) float64 {
	mean, c, s := r.fit(left)
	sum := 0.0
	for k, level := range r.level {
		if !r.isFitted(k, left) {
			continue
		}
		sin, cos := math.Sincos(2 * math.Pi * r.places[k])
		d := level - mean - c*cos - s*sin
		sum += d * d
	}
	return sum
}

// isFitted tells whether a tooth has a part in the fit.
func (r *rim) isFitted(k int, left []bool) bool {
	return r.level[k] > 0 && !r.beside[k] && !left[k]
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
		if !r.isFitted(k, left) {
			continue
		}
		sin, cos := math.Sincos(2 * math.Pi * r.places[k])
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
