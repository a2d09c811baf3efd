package threshold

import "math"

// raise asks of every part of the table, a row or the stretch between two, what
// a table of steps can give: first to stay inside the window, where it is open,
// then the largest worst score of all, up to 1; then, those parts left there that can give no more, the largest worst score
// of the others, and so on. So a hopeless cranking does not spoil the top. But
// for the worst score itself, a part that can give no more is asked for a
// little less: its last percent would be paid for by its neighbours with many.
// Where one of two parts could give more but not both, the one at the lower
// speed is preferred.
func (f *frame) raise() {
	parts := f.parts()
	f.keep(parts)
	f.want(0)
	worst := f.raiseAll(parts, 0)
	parts = f.free(parts, worst, worst)
	for score := worst; len(parts) > 0; {
		score = f.raiseAll(parts, score)
		parts = f.free(parts, score, math.Max(worst, score/clearlyBetter))
	}
}

// parts are the numbers of all parts, by speed.
func (f *frame) parts() []int {
	var parts []int
	for i := range f.groups {
		parts = append(parts, i, len(f.groups)+i)
	}
	return parts[:len(f.scores)]
}

// keep asks every part that can stay inside the window to do so: all, or else
// one after the other. What a failing speed gains elsewhere is worth nothing:
// the table fails. Where all reach their targets they are inside anyway.
func (f *frame) keep(parts []int) {
	f.want(1)
	if f.reachable() {
		return
	}
	f.want(0)
	for _, part := range parts {
		f.kept[part] = 1
	}
	if f.reachable() {
		return
	}
	clear(f.kept)
	for _, part := range parts {
		f.kept[part] = 1
		if !f.reachable() {
			f.kept[part] = 0
		}
	}
}

// raiseAll finds the largest score up to 1 that all the parts can have, from
// one they do have, and asks it of them.
func (f *frame) raiseAll(parts []int, score float64) float64 {
	ask := func(score float64) bool {
		for _, part := range parts {
			f.scores[part] = score
		}
		return f.reachable()
	}
	if ask(1) {
		return 1
	}
	score = largest(ask, score, 1, scoreSlack)
	ask(score)
	return score
}

// free returns the parts that can give more than the score they are all asked
// for, one after the other, and asks the rest for what is given.
func (f *frame) free(parts []int, score, rest float64) []int {
	if score == 1 {
		return nil
	}
	var free []int
	for _, part := range parts {
		f.scores[part] = math.Min(1, math.Max(score, leastScore)*(1+leastGain))
		if f.reachable() {
			free = append(free, part)
		} else {
			f.scores[part] = rest
		}
	}
	return free
}

const (
	// leastScore is a score that needs no telling from 0.
	leastScore = 1e-9
	// scoreSlack is how closely, relatively, the largest score is found.
	scoreSlack = 1e-11
	// leastGain is the smallest relative gain in score worth anything.
	leastGain = 1e-6
)

// largest is the largest score between one that can be had and one that
// cannot, to a relative slack, by halving their ratio.
func largest(can func(float64) bool, lo, hi, slack float64) float64 {
	for range mostTurns {
		if hi <= math.Max(lo, leastScore)*(1+slack) {
			break
		}
		mid := math.Sqrt(math.Max(lo, leastScore) * hi)
		if can(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// most is the largest score that steps within the limits reach at every speed,
// not capped at the targets; +Inf where nothing keeps it from growing.
func (f *frame) most() float64 { return f.mostBy(f.reachable) }

// mostBetween is the same for thresholds in no steps, between limits in volts.
func (f *frame) mostBetween(limits sides) float64 {
	return f.mostBy(func() bool { return f.reachableBetween(limits) })
}

func (f *frame) mostBy(reachable func() bool) float64 {
	can := func(score float64) bool {
		f.want(score)
		return reachable()
	}
	best := f.windowScore()
	if math.IsInf(best, 1) || can(best) {
		return best
	}
	return largest(can, 0, best, scoreSlack)
}

// windowScore is the least of the best scores of the windows themselves.
func (f *frame) windowScore() float64 {
	least := math.Inf(1)
	for _, w := range f.windows {
		least = math.Min(least, w.bestScore())
	}
	return least
}
