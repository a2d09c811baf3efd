package replay

import (
	"math"
	"sort"
)

// coupling is what of another sensor's wave gets into this one: so much of its
// voltage, of its rate of change, and of the change of that, by which a short lag
// is told. It is the same at all speeds, and at every tooth.
type coupling struct {
	own, other *Strips
	step       int     // samples to either side over which a change is taken
	restV      float64 // of the other wave
	gain       [couplings]float64
}

const (
	couplings       = 3
	stepsInPitch    = 16   // of the other sensor, where its teeth are closest
	fewestInStretch = 12   // samples
	curves          = 3    // that the own wave takes in a stretch: level, slope, bend
	leastCoupled    = 0.2  // of an event's height, or of the threshold where it ends: the rest may be the own wave's
	leastPivot      = 1e-9 // of a term's own square
)

// couple finds the coupling of least squares from everything beside the own
// teeth, whether there are false events or not: what only looks like the other's
// wave where events are does not look like it elsewhere. nil where it cannot be
// told.
func couple(own, other *Strips, ownTeeth, otherTeeth []float64) *coupling {
	if own == nil || other == nil || len(otherTeeth) < 3 {
		return nil
	}
	closest := math.Inf(1)
	for i := 1; i < len(otherTeeth); i++ {
		closest = min(closest, otherTeeth[i]-otherTeeth[i-1])
	}
	c := &coupling{own: own, other: other, step: max(1, int(closest/stepsInPitch)), restV: other.mean()}
	var sums normal
	for k := range own.list {
		a := &own.list[k]
		if b := other.of(a.first); b != nil {
			c.addStrip(&sums, a, b, ownTeeth, otherTeeth)
		}
	}
	var ok bool
	if c.gain, ok = sums.solve(); !ok {
		return nil
	}
	return c
}

// addStrip adds the stretches from a tooth of the other sensor to the second
// next, or as many more as make enough samples.
func (c *coupling) addStrip(sums *normal, own, other *strip, ownTeeth, otherTeeth []float64) {
	first, n := float64(own.first), min(len(own.v), len(other.v))
	for i := sort.SearchFloat64s(otherTeeth, first+float64(c.step)); i+2 < len(otherTeeth); i++ {
		j := i + 2
		for j < len(otherTeeth)-1 && otherTeeth[j]-otherTeeth[i] < fewestInStretch {
			j++
		}
		from, to := int(math.Ceil(otherTeeth[i]-first)), int(otherTeeth[j]-first)
		if to+c.step >= n {
			return
		}
		if to-from >= fewestInStretch && !nearTeeth(ownTeeth, otherTeeth[i], otherTeeth[j]) {
			c.addStretch(sums, own.v[from:to], other.v[from-c.step:to+c.step])
		}
	}
}

// nearTeeth tells that a stretch comes within reach of a tooth.
func nearTeeth(teeth []float64, from, to float64) bool {
	next := sort.SearchFloat64s(teeth, from)
	for k := max(next-1, 0); k < len(teeth); k++ {
		pitch := math.Inf(1)
		if k > 0 {
			pitch = teeth[k] - teeth[k-1]
		}
		if k+1 < len(teeth) {
			pitch = min(pitch, teeth[k+1]-teeth[k])
		}
		reach := reachPitches * pitch
		switch {
		case teeth[k]-reach < to && teeth[k]+reach > from:
			return true
		case teeth[k] > to:
			return false
		}
	}
	return false
}

// addStretch adds what is neither level nor slope nor bend: those are the own
// wave's. other is longer by a step on either side.
func (c *coupling) addStretch(sums *normal, own, other []float32) {
	var toCurve [1 + couplings][curves]float64
	var square [curves]float64
	at := func(i int) [1 + couplings]float64 {
		t := c.terms(other, i+c.step)
		return [1 + couplings]float64{float64(own[i]), t[0], t[1], t[2]}
	}
	n := len(own)
	// Over places that lie evenly about 0, these curves are orthogonal.
	bend := float64(n+1) / float64(n-1) / 3
	curve := func(i int) [curves]float64 {
		x := 2*float64(i)/float64(n-1) - 1
		return [curves]float64{1, x, x*x - bend}
	}
	for i := range own {
		p, x := curve(i), at(i)
		for k := range p {
			square[k] += p[k] * p[k]
			for m := range x {
				toCurve[m][k] += x[m] * p[k]
			}
		}
	}
	var whole normal
	for i := range own {
		p, x := curve(i), at(i)
		for m := range x {
			for k := range p {
				x[m] -= toCurve[m][k] / square[k] * p[k]
			}
		}
		whole.add(x[0], [couplings]float64(x[1:]))
	}
	if whole.isFinite() {
		sums.join(&whole)
	}
}

// terms are the other wave's voltage from rest, its change over a step, and the
// change of that.
func (c *coupling) terms(v []float32, i int) [couplings]float64 {
	before, now, after := float64(v[i-c.step]), float64(v[i]), float64(v[i+c.step])
	return [couplings]float64{now - c.restV, (after - before) / 2, after - 2*now + before}
}

// explains tells whether a false event would not be without what is coupled in:
// it would not reach the threshold, or not fall there, on a flank of the own
// wave. ok is false where the wave about it was not kept.
func (c *coupling) explains(f *fault, halfV float64) (vanishes, ok bool) {
	end := int64(f.at)
	own, other := c.own.of(end), c.other.of(end)
	if own == nil || other == nil {
		return false, false
	}
	i, n := int(end-own.first), min(len(own.v), len(other.v)-c.step)
	if i < c.step || i+1 >= n {
		return false, false
	}
	firesV := float64(own.v[i]) + (f.at-float64(end))*float64(own.v[i+1]-own.v[i])
	atFallV := c.at(other, i)
	highest, without := math.Inf(-1), math.Inf(-1)
	for ; float64(own.v[i]) > firesV; i-- {
		if i <= c.step {
			return false, false
		}
		v := float64(own.v[i]) - firesV - halfV
		highest, without = max(highest, v), max(without, v-c.at(other, i))
	}
	if math.IsInf(highest, 0) || without-without != 0 {
		return false, false
	}
	thresholdV := float64(f.thresholdV)
	return without <= thresholdV && without < (1-leastCoupled)*highest || -atFallV > leastCoupled*thresholdV, true
}

// at is what is coupled in at a sample.
func (c *coupling) at(other *strip, i int) float64 {
	sum := 0.0
	for k, t := range c.terms(other.v, i) {
		sum += c.gain[k] * t
	}
	return sum
}

// normal are the sums of which least squares are made.
type normal struct {
	xx [couplings][couplings]float64
	xy [couplings]float64
}

func (s *normal) add(y float64, x [couplings]float64) {
	for i := range x {
		s.xy[i] += x[i] * y
		for j := range i + 1 {
			s.xx[i][j] += x[i] * x[j]
		}
	}
}

func (s *normal) join(o *normal) {
	for i := range s.xy {
		s.xy[i] += o.xy[i]
		for j := range i + 1 {
			s.xx[i][j] += o.xx[i][j]
		}
	}
}

func (s *normal) isFinite() bool {
	sum := 0.0
	for i := range s.xy {
		sum += s.xy[i] + s.xx[i][i]
	}
	return sum-sum == 0
}

// solve gives the factors by Cholesky's way; ok is false where the terms do not
// tell them apart.
func (s *normal) solve() (x [couplings]float64, ok bool) {
	var l [couplings][couplings]float64
	for i := range l {
		for j := range i + 1 {
			sum := s.xx[i][j]
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			switch {
			case i != j:
				l[i][j] = sum / l[j][j]
			case !(sum > leastPivot*s.xx[i][i]):
				return x, false
			default:
				l[i][i] = math.Sqrt(sum)
			}
		}
	}
	for i := range x {
		sum := s.xy[i]
		for k := range i {
			sum -= l[i][k] * x[k]
		}
		x[i] = sum / l[i][i]
	}
	for i := couplings - 1; i >= 0; i-- {
		for k := i + 1; k < couplings; k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	return x, true
}
