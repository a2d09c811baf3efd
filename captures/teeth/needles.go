package teeth

import "math"

// needles are narrow rises of the wave over its own course, the largest at each place
// of the wheel's turn. What comes at the same angle in every turn, as a spark does, is
// hidden from those that compare turns, and where a gap is near or the speed changes
// from tooth to tooth also from those that compare teeth. But it is narrower than a tooth,
// by far while the engine is slow.
type needles []needle

// needle is what was seen at one place.
type needle struct {
	up, down float32 // sums over turns of how far the wave goes above and below its course, volts
	highest  float32
	n        float32 // turns
}

func (c *needle) meanDown() float64 { return float64(c.down / max(1, c.n)) }

// needleCells is the number of places in a pitch.
const needleCells = 16

// add takes a turn.
func (n needles) add(turn []extent) {
	for i, e := range turn {
		if c := &n[i]; e.isSeen {
			c.up, c.down, c.n = c.up+e.up, c.down+e.down, c.n+1
			c.highest = max(c.highest, e.up)
		}
	}
}

func (n needles) merge(o needles) {
	for i := range o {
		c := &n[i]
		c.up, c.down, c.n = c.up+o[i].up, c.down+o[i].down, c.n+o[i].n
		c.highest = max(c.highest, o[i].highest)
	}
}

// turns is the number of turns in which most places were seen.
func (n needles) turns() float64 {
	all := make([]float64, len(n))
	for i := range n {
		all[i] = float64(n[i].n)
	}
	return median(all)
}

const (
	needleTurns  = 3   // that tell whether something comes again
	needleSure   = 6   // standard deviations of the places' means, beyond which chance has none
	needleBeyond = 0.5 // of what noise goes beyond the course
	// narrower is how many times as much a tooth's form leaves where the tooth is somewhat
	// narrower and higher than usual: that grows with a high power of its slope.
	narrower     = 4
	besideNeedle = 3   // places
	rebound      = 0.5 // of a fall, which draws the course down and so leaves a rise beside it
)

// spark is the highest rise at a place that something strikes turn after turn; 0 for
// none. It is none that a tooth's own form leaves, as that is at other teeth as well,
// nor what the instrument's step does.
func (n needles) spark(stepV float64) (highest float64) {
	means, usual := n.means()
	quiet := median(usual)
	off := make([]float64, 0, len(means))
	for i, mean := range means {
		if n[i].n > 0 {
			off = append(off, math.Abs(mean-usual[i%needleCells]))
		}
	}
	chance := needleSure * deviation * median(off)
	for i, mean := range means {
		turns, form := float64(n[i].n), usualAbout(usual, i%needleCells)
		if turns < needleTurns || mean < rebound*n.fallAbout(i) {
			continue
		}
		if mean-quiet > max(chance*(1+1/math.Sqrt(turns)), needleBeyond*quiet, stepV)+narrower*max(0, form-quiet) {
			highest = max(highest, float64(n[i].highest)+max(0, n.drawnUp(i)-quiet))
		}
	}
	return highest
}

// drawnUp is by how much a rise at a place draws the course up: that lies as far above
// the wave beside, on either side, as a spark that swings down shows on one.
func (n needles) drawnUp(i int) float64 {
	before, after := 0.0, 0.0
	for d := 1; d <= besideNeedle; d++ {
		before = max(before, n[(i-d+len(n))%len(n)].meanDown())
		after = max(after, n[(i+d)%len(n)].meanDown())
	}
	return min(before, after)
}

// means are those of the rises at each place over turns, and the usual ones by the place
// in a pitch.
func (n needles) means() (means, usual []float64) {
	means, usual = make([]float64, len(n)), make([]float64, needleCells)
	var alike []float64
	for k := range usual {
		alike = alike[:0]
		for i := k; i < len(n); i += needleCells {
			if n[i].n > 0 {
				means[i] = float64(n[i].up / n[i].n)
				alike = append(alike, means[i])
			}
		}
		usual[k] = median(alike)
	}
	return means, usual
}

// usualAbout is the highest usual mean at a place in a pitch and those beside it: teeth
// do not stand quite at the same places.
func usualAbout(usual []float64, k int) float64 {
	n := len(usual)
	return max(usual[(k+n-1)%n], usual[k], usual[(k+1)%n])
}

// fallAbout is how far the wave goes below its course at a place or beside it, the mean
// over turns.
func (n needles) fallAbout(i int) (most float64) {
	for _, d := range []int{len(n) - 1, 0, 1} {
		most = max(most, n[(i+d)%len(n)].meanDown())
	}
	return most
}
