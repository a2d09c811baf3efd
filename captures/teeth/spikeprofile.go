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

func (c *needle) meanUp() float64   { return float64(c.up / max(1, c.n)) }
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

// turns is the number of turns in which a place was seen, the mean over all.
func (n needles) turns() float64 {
	sum := 0.0
	for i := range n {
		sum += float64(n[i].n)
	}
	return sum / float64(max(1, len(n)))
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
	usual := n.usual((*needle).meanUp)
	quiet := median(usual)
	off := make([]float64, 0, len(n))
	for i := range n {
		if n[i].n > 0 {
			off = append(off, math.Abs(n[i].meanUp()-usual[i%needleCells]))
		}
	}
	chance := needleSure * deviation * median(off)
	for i := range n {
		mean, turns, form := n[i].meanUp(), float64(n[i].n), usualAbout(usual, i%needleCells)
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

// usual is the median of what all pitches have at each place in one.
func (n needles) usual(of func(*needle) float64) []float64 {
	usual := make([]float64, needleCells)
	var alike []float64
	for k := range usual {
		alike = alike[:0]
		for i := k; i < len(n); i += needleCells {
			if n[i].n > 0 {
				alike = append(alike, of(&n[i]))
			}
		}
		usual[k] = median(alike)
	}
	return usual
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

// dip is by how much more than usual the wave falls narrowly below its course on a tooth's
// lobe, and in the half of a pitch behind it; what is usual of that at all teeth.
type dip struct{ top, behind, usual float64 }

// told tells that it is more than what chance or the tooth's form make.
func (d *dip) told() bool { return max(d.top, d.behind) > dipLeast*d.usual }

const dipLeast = 1

// dips are those of the wheel's teeth.
func (n needles) dips(p *pattern) []dip {
	usual := n.usual((*needle).meanDown)
	all := make([]dip, len(p.parts))
	for j := range all {
		all[j].usual = median(usual)
		for k := -needleCells / 2; k < needleCells/2 && len(n) > 0; k++ {
			i := (p.wheel.Positions[j]*needleCells + k + len(n)) % len(n)
			more := n[i].meanDown() - usual[i%needleCells]
			if k < 0 {
				all[j].top = max(all[j].top, more)
			} else {
				all[j].behind = max(all[j].behind, more)
			}
		}
	}
	return all
}
