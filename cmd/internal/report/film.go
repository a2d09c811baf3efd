package report

import (
	"math"
	"strconv"
)

// film keeps the latest stretch of a wave and what passed in it, so that an
// excerpt about a place can be cut once what follows has passed too. Positions
// are in samples from the wave's first.
type film struct {
	startS, stepS float64
	first         int64 // position of v[0]
	v             []float64
	frames        []frame
	orders        []order
}

// frame is a tooth that passed, with what an input made of it.
type frame struct {
	at         float64 // of the fall
	number     int
	restV      float64
	seen       bool
	missed     bool
	thresholdV float64 // in force; not finite for none
	instants   []instant
}

// instant is an event of the input.
type instant struct {
	armedAt, at        float64
	thresholdV, afterV float64
	isFalse            bool
}

// order is an excerpt to be cut.
type order struct {
	into     *Excerpt
	from, to float64
}

const (
	// aroundTeeth is how many pitches an excerpt shows on either side.
	aroundTeeth = 4.5
	framesKept  = 16
	filmLen     = 1 << 20 // samples kept at most
)

func (f *film) wave(first int64, v []float64) {
	if first != f.end() {
		f.v, f.first = f.v[:0], first
	}
	f.v = append(f.v, v...)
	if len(f.v) > 2*filmLen {
		f.drop(f.end() - filmLen)
	}
}

func (f *film) end() int64 { return f.first + int64(len(f.v)) }

func (f *film) drop(before int64) {
	if n := min(before, f.end()) - f.first; n > 0 {
		f.v = f.v[:copy(f.v, f.v[n:])]
		f.first += n
	}
}

// pass takes the next tooth and cuts what is due.
func (f *film) pass(x frame) {
	f.frames = append(f.frames, x)
	waiting := f.orders[:0]
	for _, o := range f.orders {
		if x.at < o.to {
			waiting = append(waiting, o)
			continue
		}
		f.cut(o)
	}
	f.orders = waiting
	if len(f.frames) < 2*framesKept {
		return
	}
	f.frames = f.frames[:copy(f.frames, f.frames[len(f.frames)-framesKept:])]
	if oldest := int64(f.frames[0].at); oldest-f.first > 1<<14 {
		f.drop(oldest)
	}
}

// finish cuts what is still wanted.
func (f *film) finish() {
	for _, o := range f.orders {
		f.cut(o)
	}
	f.orders = nil
}

// order asks for the surroundings of a place. What was to be cut into the same
// excerpt is not wanted any longer.
func (f *film) order(into *Excerpt, at float64) {
	half := aroundTeeth * f.pitch()
	o := order{into, at - half, at + half}
	for i := range f.orders {
		if f.orders[i].into == into {
			f.orders[i] = o
			return
		}
	}
	f.orders = append(f.orders, o)
}

// pitch is the least of the latest intervals, in samples.
func (f *film) pitch() float64 {
	least := math.Inf(1)
	for i := max(1, len(f.frames)-3); i < len(f.frames); i++ {
		least = min(least, f.frames[i].at-f.frames[i-1].at)
	}
	if math.IsInf(least, 1) {
		return 100
	}
	return least
}

func (f *film) timeS(at float64) float64 { return f.startS + at*f.stepS }

// cut makes an excerpt. Its volts are from the rest level of the tooth nearest
// to the middle.
func (f *film) cut(o order) {
	from, to := max(int64(o.from), f.first), min(int64(math.Ceil(o.to)), f.end()-1)
	if to-from < 2 {
		return
	}
	c := cutting{film: f, from: from, v: f.v[from-f.first : to-f.first+1], restV: f.restAt((o.from + o.to) / 2)}
	*o.into = Excerpt{Wave: thinned(c.points())}
	var inside []frame
	for _, x := range f.frames {
		if x.at >= float64(from) && x.at <= float64(to) {
			inside = append(inside, x)
		}
	}
	c.marks(o.into, inside)
	o.into.Threshold = c.threshold(inside, float64(from), float64(to))
}

func (f *film) restAt(at float64) float64 {
	restV, nearest := 0.0, math.Inf(1)
	for _, x := range f.frames {
		if d := math.Abs(x.at - at); d < nearest {
			restV, nearest = x.restV, d
		}
	}
	return restV
}

// cutting is a stretch of a film.
type cutting struct {
	*film
	from  int64
	v     []float64
	restV float64
}

// points are the samples; what is not a finite number interrupts the line.
func (c *cutting) points() []Point {
	points := make([]Point, len(c.v))
	for i, v := range c.v {
		if math.IsInf(v, 0) {
			v = math.NaN()
		}
		points[i] = Point{c.timeS(float64(c.from + int64(i))), v - c.restV}
	}
	return points
}

// at is the wave at a position, between its samples; NaN beyond its ends.
func (c *cutting) at(position float64) Point {
	i := int(math.Floor(position)) - int(c.from)
	p := Point{c.timeS(position), math.NaN()}
	if i >= 0 && i+1 < len(c.v) {
		part := position - math.Floor(position)
		p.Y = c.v[i] + part*(c.v[i+1]-c.v[i]) - c.restV
	}
	return p
}

// top is the highest sample of the stretch before a tooth's fall.
func (c *cutting) top(fall, length float64) Point {
	best := c.at(fall)
	for i := max(int(fall-length)-int(c.from), 0); i < len(c.v) && float64(c.from+int64(i)) < fall; i++ {
		if v := c.v[i] - c.restV; v > best.Y || best.Y != best.Y {
			best = Point{c.timeS(float64(c.from + int64(i))), v}
		}
	}
	return best
}

func (c *cutting) marks(x *Excerpt, inside []frame) {
	pitch := math.Inf(1)
	for i := 1; i < len(inside); i++ {
		pitch = min(pitch, inside[i].at-inside[i-1].at)
	}
	if math.IsInf(pitch, 1) {
		pitch = float64(len(c.v)) / (2 * aroundTeeth)
	}
	for _, f := range inside {
		top := c.top(f.at, 0.8*pitch)
		if !f.seen {
			top = c.at(f.at)
		}
		if f.number > 0 && top.Y == top.Y {
			x.Teeth = append(x.Teeth, Dot{X: top.X, Y: top.Y, Text: strconv.Itoa(f.number)})
		}
		if f.missed {
			x.Missed = append(x.Missed, top)
		}
	}
	c.events(x)
}

// events marks those within the stretch, also where the tooth that they were
// judged with is not.
func (c *cutting) events(x *Excerpt) {
	from, to := float64(c.from), float64(c.from)+float64(len(c.v)-1)
	for _, f := range c.frames {
		for _, e := range f.instants {
			if e.at < from || e.at > to {
				continue
			}
			x.Armed = append(x.Armed, c.at(e.armedAt))
			if e.isFalse {
				x.False = append(x.False, c.at(e.at))
			} else {
				x.Counted = append(x.Counted, c.at(e.at))
			}
		}
	}
}

// threshold is the one in force over the time of the stretch, in steps; NaN
// where there was none.
func (c *cutting) threshold(inside []frame, from, to float64) []Point {
	if len(inside) == 0 {
		return nil
	}
	now := inside[0].thresholdV
	if len(inside[0].instants) > 0 {
		now = inside[0].instants[0].thresholdV
	}
	points := []Point{{c.timeS(from), finite(now)}}
	step := func(at, v float64) {
		if v != now {
			points = append(points, Point{c.timeS(at), finite(now)}, Point{c.timeS(at), finite(v)})
			now = v
		}
	}
	for _, f := range inside {
		for _, e := range f.instants {
			step(e.armedAt, e.thresholdV)
			step(e.at, e.afterV)
		}
		if len(f.instants) == 0 {
			step(f.at, f.thresholdV)
		}
	}
	points = append(points, Point{c.timeS(to), finite(now)})
	for _, p := range points {
		if p.Y == p.Y {
			return points
		}
	}
	return nil // never one
}

// finite is NaN for what is not.
func finite(v float64) float64 {
	if math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}
