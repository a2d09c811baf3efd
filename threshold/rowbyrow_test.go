package threshold

import (
	"math"

	"armcurve/captures"
)

// rowByRow is the plainer way to a table that the best one is compared with:
// each row is placed in its own window, then moved by single steps while that
// raises the worst score beside it.
type rowByRow struct {
	s     *Sensor
	judge *judge
	steps steps
	table Table
	k     []int // step number of each row
}

func (s *Sensor) tableRowByRow(speeds []float64) Table {
	p := rowByRow{s: s, judge: s.newJudge(speeds), steps: s.Options.Input.steps(), table: Table{BetweenRows: s.Options.Input.BetweenRows}}
	for _, rpm := range speeds {
		w := s.Window(max(rpm, s.Options.CrankingLowRPM))
		row, k := Row{RPM: rpm}, 0
		if aimV, ok := s.aim(w); ok {
			k = p.place(w, aimV)
			row.ThresholdV = captures.Some(p.steps.volts(k))
		}
		p.k, p.table.Rows = append(p.k, k), append(p.table.Rows, row)
	}
	for moved := true; moved; {
		moved = false
		for first := 0; first < len(p.k); {
			last := p.tied(first)
			moved = p.improve(first, last) || moved
			first = last + 1
		}
	}
	return p.table
}

// place returns the step beside the aim with the larger score, or, where both
// reach both targets, the one nearer to the preferred fraction.
func (p *rowByRow) place(w Window, aimV float64) int {
	below, above := p.steps.around(aimV)
	if below == above || !w.NoiseV.Known {
		return below
	}
	less, more := w.judge(p.steps.volts(below)).score, w.judge(p.steps.volts(above)).score
	if min(less, more) >= 1-targetSlack {
		preferredV := p.s.Options.PreferredFraction * w.WeakestV
		less = -math.Abs(p.steps.volts(below) - preferredV)
		more = -math.Abs(p.steps.volts(above) - preferredV)
	}
	if more > less {
		return above
	}
	return below
}

// tied is the last of the rows that hold one value with the first.
func (p *rowByRow) tied(first int) (last int) {
	last = first
	for last+1 < len(p.k) && p.table.Rows[last+1].RPM <= p.s.Options.CrankingLowRPM {
		last++
	}
	return last
}

func (p *rowByRow) improve(first, last int) (moved bool) {
	if !p.table.Rows[first].ThresholdV.Known {
		return false
	}
	fromRPM, toRPM := 0.0, math.Inf(1)
	if first > 0 {
		fromRPM = p.table.Rows[first-1].RPM
	}
	if last+1 < len(p.k) {
		toRPM = p.table.Rows[last+1].RPM
	}
	best := p.worst(fromRPM, toRPM)
	for _, step := range []int{1, -1} {
		for {
			k := p.k[first] + step
			if k != p.steps.limit(k) {
				break
			}
			p.set(first, last, k)
			score := p.worst(fromRPM, toRPM)
			if score < best+1e-6 {
				p.set(first, last, k-step)
				break
			}
			best, moved = score, true
		}
	}
	return moved
}

func (p *rowByRow) set(first, last, k int) {
	for i := first; i <= last; i++ {
		p.k[i] = k
		p.table.Rows[i].ThresholdV = captures.Some(p.steps.volts(k))
	}
}

// worst is the least score in a range of speeds relative to the best its
// window allows.
func (p *rowByRow) worst(fromRPM, toRPM float64) float64 {
	worst := 1.0
	for _, w := range p.judge.windows {
		thresholdV := p.table.At(w.RPM)
		if w.RPM >= fromRPM && w.RPM <= toRPM && thresholdV.Known {
			worst = min(worst, min(1, w.judge(thresholdV.Value).score)/min(1, w.bestScore()))
		}
	}
	return worst
}
