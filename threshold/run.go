package threshold

import (
	"math"
	"slices"
	"sort"
)

// run is an unbroken row of step numbers, both ends included.
type run struct{ from, to int }

func (r run) empty() bool { return r.from > r.to }

// holding gives the steps between two sides, within others.
func (r run) holding(s sides) run {
	if s.low > float64(r.from) {
		r.from = ceil(s.low)
	}
	if s.high < float64(r.to) {
		r.to = floor(s.high)
	}
	return r
}

func ceil(x float64) int  { return wholeSteps(math.Ceil(x)) }
func floor(x float64) int { return int(math.Floor(max(x, -1))) }

// image gives the steps y of the next row that some step x of the runs leads
// to, by rising value as the runs are.
func (p *passage) image(runs []run) []run {
	var out []run
	for i := len(runs) - 1; i >= 0; i-- {
		a, b, ok := p.narrow(float64(runs[i].from), float64(runs[i].to))
		if ok {
			out = p.extend(out, ceil(a-sideSlack), floor(b+sideSlack))
		}
	}
	return out
}

// risingImage gives those steps y of the next row that no larger step x of the
// runs leads to. lowest falls with x: up to where it meets x, every y is at
// least x; beyond, the least x of a run leads to all that larger ones do.
func (p *passage) risingImage(runs []run) []run {
	var out []run
	for _, r := range runs {
		meets := r.from + sort.Search(r.to-r.from+1, func(i int) bool {
			low, _ := p.lowest(float64(r.from + i))
			return low < float64(r.from+i)
		})
		if meets > r.from {
			out = append(out, p.image([]run{{r.from, meets - 1}})...)
		}
		if high, _ := p.highest(float64(meets)); meets <= r.to && float64(meets) <= high {
			out = append(out, run{meets, floor(high)})
		}
	}
	return union(out)
}

// extend adds the images of the steps from…to, the largest first: the larger
// x, the smaller y. Where the region is wide, neighbours' images meet and make
// one run; only in its thin ends steps are taken one by one.
func (p *passage) extend(out []run, from, to int) []run {
	for x := to; x >= from; x-- {
		last := p.lastMeeting(from, x)
		low, _ := p.lowest(float64(x))
		high, _ := p.highest(float64(last))
		out = joinRun(out, run{ceil(low), floor(high)})
		x = last
	}
	return out
}

// lastMeeting is the least step down to which the images of neighbours meet,
// beginning at x: those of z and z+1 do where lowest(z) ≤ highest(z+1), and
// where they do is unbroken, because the difference is concave.
func (p *passage) lastMeeting(from, x int) int {
	meets := func(z int) bool {
		low, _ := p.lowest(float64(z))
		high, _ := p.highest(float64(z + 1))
		return low <= high
	}
	switch {
	case x == from || !meets(x-1):
		return x
	case meets(from):
		return from
	}
	lo, hi := from, x-1 // hi meets
	for lo < hi {
		mid := lo + (hi-lo)/2
		if meets(mid) {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return hi
}

// joinRun appends a run that begins no lower than the last one.
func joinRun(runs []run, r run) []run {
	if r.empty() {
		return runs
	}
	if n := len(runs); n > 0 && r.from <= runs[n-1].to+1 {
		runs[n-1].to = max(runs[n-1].to, r.to)
		return runs
	}
	return append(runs, r)
}

// union sorts runs and joins those that meet.
func union(runs []run) []run {
	slices.SortFunc(runs, func(a, b run) int { return a.from - b.from })
	var out []run
	for _, r := range runs {
		out = joinRun(out, r)
	}
	return out
}

// nearest is the step of the runs nearest to a value; the runs must not be
// empty.
func nearest(runs []run, value float64) int {
	best, least := 0, math.Inf(1)
	for _, r := range runs {
		k := int(math.Round(min(max(value, float64(r.from)), float64(r.to))))
		if d := math.Abs(float64(k) - value); d < least {
			best, least = k, d
		}
	}
	return best
}

// within gives the parts of the runs inside limits.
func within(runs []run, s sides) []run {
	var out []run
	for _, r := range runs {
		if r = r.holding(s); !r.empty() {
			out = append(out, r)
		}
	}
	return out
}
