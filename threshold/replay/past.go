package replay

import (
	"math"
	"sort"
)

// past is the wave of the last few turns as the comparator saw it, and where
// the teeth passed in it.
type past struct {
	first int64     // position of v[0]
	v     []float64 // volts, from rest as far as it was scanned
	raw   []float64 // the same as recorded, where a filter stands before the comparator; else nil
	teeth []passed  // oldest first
	turn  int       // teeth in a turn; 0 where not known
}

// passed is a tooth that went by.
type passed struct {
	at     float64
	number int
	rpm    float64
	pitch  float64 // samples; of the shorter interval beside it
	height float64 // of its arch, volts from rest; 0 where it has none
	other  float64 // of the highest arch beside it that is none
	seen   bool
	absent bool // the wave itself does not have it
	atLoss bool // the wave is lost beside it: no threshold counts what is cut off
	// unplaced tells that the reader of the wave gave it no speed.
	unplaced bool
}

const (
	pastTurns   = 4       // looked back to
	pastSamples = 1 << 19 // kept at most
)

func (p *past) end() int64 { return p.first + int64(len(p.v)) }

// trim forgets what is older than the turns that are looked back to.
func (p *past) trim(needed int64) {
	keep := max(pastTurns*p.turn, 8) + 3
	if extra := len(p.teeth) - keep; extra > keep {
		p.teeth = p.teeth[:copy(p.teeth, p.teeth[extra:])]
	}
	from := needed
	if len(p.teeth) > 0 {
		from = min(from, int64(p.teeth[max(len(p.teeth)-keep, 0)].at)-2)
	}
	from = max(from, min(needed, p.end()-pastSamples))
	if n := int(from - p.first); n > 1<<14 && n > len(p.v)/3 {
		p.v = p.v[:copy(p.v, p.v[n:])]
		p.raw = p.raw[:copy(p.raw, p.raw[min(n, len(p.raw)):])]
		p.first += int64(n)
	}
}

// at is the wave at a position, between its samples; ok is false where it is
// not kept.
func (p *past) at(x float64) (v float64, ok bool) {
	i := math.Floor(x)
	k := int(int64(i) - p.first)
	if k < 0 || k+1 >= len(p.v) {
		return 0, false
	}
	f := x - i
	return p.v[k] + f*(p.v[k+1]-p.v[k]), true
}

// ends are the lowest and the highest sample kept between two positions, as far as the
// wave was scanned; infinite where there is none.
func (p *past) ends(from, to float64) (lowV, highV float64) {
	lowV, highV = math.Inf(1), math.Inf(-1)
	for i := max(int64(from), p.first); i < min(int64(to), p.end()); i++ {
		v := p.v[i-p.first]
		lowV, highV = min(lowV, v), max(highV, v)
	}
	return lowV, highV
}

// place is where a position is between the teeth beside it: the index of the
// one before, and the part of the way to the next.
func (p *past) place(x float64) (tooth int, part float64, ok bool) {
	next := sort.Search(len(p.teeth), func(i int) bool { return p.teeth[i].at > x })
	if next == 0 || next == len(p.teeth) {
		return 0, 0, false
	}
	a, b := p.teeth[next-1].at, p.teeth[next].at
	return next - 1, (x - a) / (b - a), true
}

// turnsAgo is the same place of the wheel some turns before.
func (p *past) turnsAgo(tooth int, part float64, turns int) (x float64, ok bool) {
	k := tooth - turns*p.turn
	if p.turn == 0 || k < 0 || tooth+1 >= len(p.teeth) ||
		p.teeth[k].number != p.teeth[tooth].number || p.teeth[k+1].number != p.teeth[tooth+1].number {
		return 0, false
	}
	a, b := p.teeth[k].at, p.teeth[k+1].at
	return a + part*(b-a), true
}

// following is where the tooth behind the last is to be expected, by the turn
// before; NaN where that is not kept.
func (p *past) following() float64 {
	last := len(p.teeth) - 1
	k := last - p.turn
	if p.turn == 0 || k < 1 || p.teeth[k].number != p.teeth[last].number {
		return math.NaN()
	}
	slower := (p.teeth[last].at - p.teeth[last-1].at) / (p.teeth[k].at - p.teeth[k-1].at)
	return p.teeth[last].at + slower*(p.teeth[k+1].at-p.teeth[k].at)
}

// turnsBefore are the intervals between the same two teeth some turns before.
type turnsBefore struct {
	n    int // of them
	each [pastTurns]struct {
		at, length float64
		gain       float64 // of a wheel's own wave since, which grows with speed
		second     bool    // of every second turn
	}
}

// turnsBefore finds those of the interval behind a tooth, the latest first.
func (p *past) turnsBefore(tooth int) (list turnsBefore) {
	length := p.teeth[tooth+1].at - p.teeth[tooth].at
	for turns := 1; turns <= pastTurns; turns++ {
		from, ok := p.turnsAgo(tooth, 0, turns)
		if !ok {
			continue
		}
		to, _ := p.turnsAgo(tooth, 1, turns)
		then := &list.each[list.n]
		then.at, then.length = from, to-from
		then.gain, then.second = then.length/length, turns%2 == 0
		list.n++
	}
	return list
}

// wave is what these have at a part of the way: the middle one, or what both of every
// second turn have. NaN where too little is kept to tell.
func (b *turnsBefore) wave(p *past, part float64) float64 {
	var all [pastTurns]float64
	n, seconds, second := 0, 0, math.Inf(1)
	for i := range b.each[:b.n] {
		then := &b.each[i]
		v, ok := p.at(then.at + part*then.length)
		if !ok {
			continue
		}
		v *= then.gain
		k := n
		for ; k > 0 && all[k-1] > v; k-- {
			all[k] = all[k-1]
		}
		all[k] = v
		n++
		if then.second {
			second = min(second, v)
			seconds++
		}
	}
	switch {
	case n < 2:
		return math.NaN()
	case seconds == 2:
		return max(all[(n-1)/2], second)
	}
	return all[(n-1)/2]
}

// locked is what the wave has at a place of the crank turn by turn, volts from
// rest: in each of the last turns, or in every second one. NaN where too little
// is kept to tell.
func (p *past) locked(x float64) float64 {
	tooth, part, ok := p.place(x)
	if !ok {
		return math.NaN()
	}
	before := p.turnsBefore(tooth)
	return before.wave(p, part)
}

// newWidth is how long the wave about a position is above what it had there a turn before,
// by half of what it is at the position at least, samples; NaN where that is nothing, or
// not kept.
func (p *past) newWidth(at float64) float64 {
	tooth, _, ok := p.place(at)
	if !ok {
		return math.NaN()
	}
	from, known := p.turnsAgo(tooth, 0, 1)
	to, _ := p.turnsAgo(tooth, 1, 1)
	if !known {
		return math.NaN()
	}
	first, length := p.teeth[tooth].at, p.teeth[tooth+1].at-p.teeth[tooth].at
	newV := func(x float64) float64 {
		now, ok := p.at(x)
		then, was := p.at(from + (x-first)/length*(to-from))
		if !ok || !was || x < first || x > first+length {
			return math.Inf(-1)
		}
		return now - then*(to-from)/length
	}
	highV := newV(at)
	if !(highV > 0) {
		return math.NaN()
	}
	width := 0.0
	for _, step := range [...]float64{-1, 1} {
		for x := at; newV(x) > highV/2; x += step {
			width++
		}
	}
	return width - 1 // the position itself once
}

// goesBack is the part of the flux under an arch that goes back behind it, within as long
// at most. What passes a sensor brings its flux and takes it away again.
func (p *past) goesBack(a *arch) float64 {
	came, back, most := 0.0, 0.0, 0.0
	fall := int64(a.fall)
	for i := max(a.start, p.first); i < min(2*fall-a.start, p.end()); i++ {
		v := p.v[i-p.first]
		if i <= fall {
			came += v
			continue
		}
		back -= v
		most = max(most, back)
	}
	if !(came > 0) {
		return 0 // no more of it is kept
	}
	return most / came
}
