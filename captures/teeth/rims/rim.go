// Package rims tells of the teeth of a wheel how high they rise beside each other: how
// far they swing around a turn, and which are short.
package rims

import (
	"math"
	"sort"
)

// A Rim is how high the teeth of the wheel rise beside each other.
type Rim struct {
	Places  []float64 // of the teeth on the wheel, turns
	Level   []float64 // mean height of each tooth ÷ that of all, from tooth 1; 0 unknown
	Swing   []float64 // the part of it that swings around the turn
	Beside  []bool    // beside a gap
	Amount  float64   // of the swing
	Twice   bool      // more of it swings twice a turn than once
	Lowest  []int     // teeth at its bottom
	Highest float64   // where it is highest, turns
	Short   []bool    // far below it

	times  int     // in a turn that the heights may swing: once, or twice as well
	left   []bool  // out of the fit
	spread float64 // usual deviation from the swing
}

// LeastSwing is below what no wheel is said to run out.
const LeastSwing = 0.04

// surelyTwice is how seldom chance alone would make two swings a turn fit so much
// better than one.
const surelyTwice = 0.001

// Of fits the run-out to the teeth that are not beside a gap; those that are far off
// are taken out of the fit and called short where they are below. A wheel that is off
// its centre swings once a turn, one that is oval or bent twice.
func Of(level, places []float64, beside []bool) *Rim {
	once, twice := swinging(1, level, places, beside), swinging(2, level, places, beside)
	if twice.isBetterThan(once) {
		return twice
	}
	return once
}

func swinging(times int, level, places []float64, beside []bool) *Rim {
	n := len(level)
	r := &Rim{times: times, Level: level, Places: places, Beside: beside, Swing: make([]float64, n), Short: make([]bool, n)}
	r.left = r.odd()
	for range 3 {
		r.swingWithout(r.left)
		r.leaveOut(r.left)
	}
	r.shortBeside()
	return r
}

// isBetterThan tells that the squares left by a swing of two numbers more are smaller
// than chance makes them, by the F test (whose quantiles for two numbers have this
// form), over the teeth that are odd to neither: a curve that does not fit finds others
// odd, or by its wide spread none.
func (r *Rim) isBetterThan(simpler *Rim) bool {
	odd := make([]bool, len(r.left))
	for k := range odd {
		odd[k] = r.left[k] || simpler.left[k]
	}
	free := float64(r.fitted(odd) - 2*r.times - 1)
	return free >= spareValues && simpler.squares(odd) > r.squares(odd)*math.Pow(surelyTwice, -2/free)
}

// fitted is how many teeth have a part in the fit.
func (r *Rim) fitted(left []bool) (n int) {
	for k := range r.Level {
		if r.isFitted(k, left) {
			n++
		}
	}
	return n
}

// swingWithout fits the swing to the teeth that are not left out.
func (r *Rim) swingWithout(left []bool) {
	curve := r.fit(left)
	if curve[0] <= 0 { // every tooth stands beside a gap
		curve = harmonics{1}
	}
	mean := curve[0]
	reach, highest := curve.reach()
	r.Amount, r.Highest = reach/mean, highest
	r.Twice = r.Amount >= LeastSwing && curve.size(2) > curve.size(1)
	for k, at := range r.Places {
		r.Swing[k] = curve.at(at) / mean
	}
	r.Lowest = r.bottoms()
}

// bottoms are the teeth, from 1, below the mean and below both of their neighbours.
func (r *Rim) bottoms() (teeth []int) {
	n := len(r.Swing)
	for k, s := range r.Swing {
		if s < 1 && s < r.Swing[(k+n-1)%n] && s <= r.Swing[(k+1)%n] {
			teeth = append(teeth, k+1)
		}
	}
	return teeth
}

const (
	oddMost  = 0.25 // of the teeth may be odd ones
	oddGain  = 4.0  // by which the fit's squares shrink without an odd one
	fewTeeth = 16   // up to which every pair of odd ones is tried
)

// odd are the teeth that the fit is much the better without, found one by one,
// since two may hide each other. On a wheel of few teeth a short one bends the
// whole fit, and how far it is from that tells little.
func (r *Rim) odd() []bool {
	n := len(r.Level)
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
func (r *Rim) oddest(left []bool) (at int, squares float64) {
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
func (r *Rim) oddestPair(left []bool) (pair [2]int, squares float64) {
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
func (r *Rim) squares(left []bool) float64 {
	curve := r.fit(left)
	sum := 0.0
	for k, level := range r.Level {
		if r.isFitted(k, left) {
			d := level - curve.at(r.Places[k])
			sum += d * d
		}
	}
	return sum
}

// isFitted tells whether a tooth has a part in the fit.
func (r *Rim) isFitted(k int, left []bool) bool {
	return r.Level[k] > 0 && !r.Beside[k] && !left[k]
}

// leaveOut marks what is far off the swing.
func (r *Rim) leaveOut(left []bool) {
	var off []float64
	for k := range r.Level {
		if !r.Beside[k] && r.Level[k] > 0 {
			off = append(off, math.Abs(r.Level[k]/r.Swing[k]-1))
		}
	}
	if len(off) == 0 {
		return
	}
	sort.Float64s(off)
	r.spread = 1.5 * off[len(off)/2]
	for k := range r.Level {
		d := r.Level[k]/r.Swing[k] - 1
		left[k] = math.Abs(d) > r.farOff()
		r.Short[k] = left[k] && d < 0 && !r.Beside[k] && r.Level[k] > 0
	}
}

// farOff is how far from the swing no tooth is by its making.
func (r *Rim) farOff() float64 { return max(0.06, 4*r.spread) }

// shortBeside calls teeth beside a gap short that are lower than the gap makes them.
// A missing tooth takes from the one before it what its rise would have begun to add,
// and from the one behind it the fall that would have held that down; the latter was
// the nearer and is the larger. So no gap lowers the tooth on one side by more than it
// raises the one on the other.
func (r *Rim) shortBeside() {
	n := len(r.Level)
	for k := range r.Level {
		if !r.Beside[k] || r.Level[k] <= 0 || r.fitted(r.left) == 0 {
			continue
		}
		raised := 0.0
		for _, across := range []int{(k + n - 1) % n, (k + 1) % n} {
			if across != k && r.Beside[across] {
				raised = max(raised, r.Level[across]/r.Swing[across]-1)
			}
		}
		r.Short[k] = 1-r.Level[k]/r.Swing[k] > raised+r.farOff()
	}
}

// fit is the mean and the swing, by least squares.
func (r *Rim) fit(left []bool) harmonics {
	f := fitting{parts: 1 + 2*r.times}
	for k, level := range r.Level {
		if r.isFitted(k, left) {
			f.add(r.Places[k], level)
		}
	}
	return f.solve()
}
