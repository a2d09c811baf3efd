package threshold

import "math"

// frame is a table whose thresholds are still open, and what every judged speed
// wants of them.
type frame struct {
	speeds  []float64
	between BetweenRows
	windows []Window // by rising speed, those at the rows included
	steps   steps
	groups  []group
	// links[i] is between groups i and i+1, with the margins wanted and with both
	// above 1. A link beside a group without a threshold is empty.
	links []links
	// scores are wanted: of group i in scores[i], of link i in
	// scores[len(groups)+i].
	scores []float64
	// kept tells of the same parts, by 1 or 0, whether they are to stay inside
	// the window.
	kept []float64
}

type links struct{ margins, inside link }

// group is the rows that hold one threshold: a single one, or those up to the
// low end of cranking.
type group struct {
	first, last int // rows
	fromRPM     float64
	toRPM       float64
	window      Window
	sides       sides // of the windows that it decides alone
	inside      sides // the same, with margins above 1
	aimV        float64
	aim         float64 // steps
	weakest     float64 // weakest tooth, steps
	none        bool    // noise reaches the weakest tooth: no threshold is right
}

// newFrame opens a table with rows at the given speeds.
func (s *Sensor) newFrame(speeds []float64) *frame {
	f := &frame{speeds: speeds, between: s.Options.Input.BetweenRows, windows: s.newJudge(speeds).windows, steps: s.Options.Input.steps()}
	for i, rpm := range speeds {
		if n := len(f.groups); n > 0 && rpm <= s.Options.CrankingLowRPM {
			f.groups[n-1].last, f.groups[n-1].toRPM = i, rpm
			continue
		}
		f.groups = append(f.groups, s.newGroup(i, rpm))
	}
	f.coarsen()
	f.close()
	return f
}

const (
	// mostSteps is the number of steps that the largest threshold worth
	// thinking of may have. Finer ones are taken several at a time.
	mostSteps = 1 << 17
	// beyondWorth is how many times that threshold a row may need to serve
	// speeds far from its own.
	beyondWorth = 4
)

// coarsen keeps the number of steps to think of within bounds, whatever the
// input's step.
func (f *frame) coarsen() {
	topV := 0.0
	for _, g := range f.groups {
		topV = math.Max(topV, g.window.WeakestV)
	}
	for _, w := range f.windows {
		topV = math.Max(topV, w.WeakestV)
	}
	topV = math.Min(topV, f.steps.volts(f.steps.max))
	f.steps = f.steps.coarser(topV/mostSteps, beyondWorth*topV)
	for i := range f.groups {
		g := &f.groups[i]
		g.aim, g.weakest = g.aimV/f.steps.v, math.Max(g.window.WeakestV/f.steps.v, leastScore)
	}
}

// newGroup begins a group with a row. Below cranking a row takes what cranking
// takes: 0 rpm is what the input believes until the wheel has turned once.
func (s *Sensor) newGroup(row int, rpm float64) group {
	w := s.Window(max(rpm, s.Options.CrankingLowRPM))
	aimV, ok := s.aim(w)
	return group{first: row, last: row, fromRPM: rpm, toRPM: rpm, window: w, aimV: aimV, none: !ok}
}

// close gives every window to the group that decides it alone, or to the link
// it lies in.
func (f *frame) close() {
	f.links = make([]links, max(0, len(f.groups)-1))
	f.scores = make([]float64, len(f.groups)+len(f.links))
	f.kept = make([]float64, len(f.scores))
	wants := func(w Window) sides { return w.sides(f.steps.v) }
	inside := func(w Window) sides { return w.inside(f.steps.v) }
	rest := f.windows
	upTo := func(rpm float64) []Window {
		n := 0
		for n < len(rest) && rest[n].RPM <= rpm {
			n++
		}
		part := rest[:n]
		rest = rest[n:]
		return part
	}
	for i := range f.groups {
		g := &f.groups[i]
		g.sides, g.inside = open, open
		own, beyond := f.own(i)
		for _, w := range upTo(own) {
			if !g.none {
				g.sides, g.inside = g.sides.and(wants(w)), g.inside.and(inside(w))
			}
		}
		linked := upTo(beyond)
		if i < len(f.links) && !g.none && !f.groups[i+1].none {
			toRPM, nextRPM := g.toRPM, f.groups[i+1].fromRPM
			f.links[i] = links{between(linked, toRPM, nextRPM, wants), between(linked, toRPM, nextRPM, inside)}
		}
	}
}

// hair is how close to a row's speed, relative to it or to the next row's, a
// window is decided by that row alone.
const hair = 1e-9

// own is the speed up to which the group alone decides the windows not yet
// given away, beyond the one up to which its link does.
func (f *frame) own(i int) (own, beyond float64) {
	if i == len(f.groups)-1 {
		return math.Inf(1), math.Inf(1)
	}
	next := f.groups[i+1].fromRPM
	if f.between == Step {
		below := math.Nextafter(next, 0)
		return below, below
	}
	return f.groups[i].toRPM + hair*next, next * (1 - hair)
}

// want asks the same score of every speed.
func (f *frame) want(score float64) {
	for i := range f.scores {
		f.scores[i] = score
	}
}

// passage is the way to group i from the one before it.
func (f *frame) passage(i int) passage {
	l, part := f.links[i-1], len(f.groups)+i-1
	return passage{[3]asked{{l.margins, f.asked(part)}, {l.inside, f.kept[part]}}, f.open(i)}
}

// asked is a wanted score less what rounding takes.
func (f *frame) asked(i int) float64 { return f.scores[i] * (1 - targetSlack/2) }

// open is what a group's own windows leave open.
func (f *frame) open(i int) sides {
	return f.groups[i].sides.at(f.asked(i)).and(f.groups[i].inside.at(f.kept[i]))
}

// runs gives, for every group, the steps that some steps of the groups before
// it lead to; ok is false where a group has none.
func (f *frame) runs() (all [][]run, ok bool) {
	all = make([][]run, len(f.groups))
	for i := range f.groups {
		within := f.stepsOpen(i)
		if f.alone(i) {
			all[i] = joinRun(nil, within)
		} else {
			p := f.passageTo(i, within)
			all[i] = p.image(all[i-1])
		}
		if len(all[i]) == 0 {
			return nil, false
		}
	}
	return all, true
}

// stepsOpen are the steps that a group's own windows leave open.
func (f *frame) stepsOpen(i int) run {
	return run{f.steps.min, f.steps.max}.holding(f.open(i))
}

// alone tells whether nothing ties a group to the one before it.
func (f *frame) alone(i int) bool { return i == 0 || f.groups[i].none || f.groups[i-1].none }

// passageTo is the passage to the open steps of group i.
func (f *frame) passageTo(i int, open run) passage {
	p := f.passage(i)
	p.next = sides{float64(open.from), float64(open.to)}
	return p
}

// reachable tells whether steps within the limits reach the scores wanted.
func (f *frame) reachable() bool {
	_, ok := f.runs()
	return ok
}

// reachableBetween tells the same of thresholds in no steps, between limits.
func (f *frame) reachableBetween(limits sides) bool {
	var from, to float64
	for i := range f.groups {
		own := f.open(i).and(limits)
		if f.alone(i) {
			from, to = own.low, own.high
		} else {
			p := f.passage(i)
			p.next = own
			a, b, ok := p.narrow(from, to)
			if !ok {
				return false
			}
			from, _ = p.lowest(b)
			to, _ = p.highest(a)
		}
		if from > to+sideSlack {
			return false
		}
	}
	return true
}
