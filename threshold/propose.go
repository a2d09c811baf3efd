package threshold

import (
	"math"

	"armcurve/captures"
)

// Propose returns the table for the sensor: each row placed in its window, then
// moved by single steps while that improves the worst speed beside it.
func (s *Sensor) Propose() Table { return s.proposeAt(s.axis()) }

// proposeAt returns the table with rows at the given speeds.
func (s *Sensor) proposeAt(speeds []float64) Table {
	t := Table{BetweenRows: s.Options.Input.BetweenRows}
	p := proposal{s: s, judge: s.newJudge(speeds), steps: s.Options.Input.steps()}
	for _, rpm := range speeds {
		k, ok := p.start(rpm)
		p.k = append(p.k, k)
		row := Row{RPM: rpm}
		if ok {
			row.ThresholdV = captures.Some(p.steps.volts(k))
		}
		t.Rows = append(t.Rows, row)
	}
	p.table = t
	p.settle()
	return p.table
}

// proposal is a table in the making.
type proposal struct {
	s     *Sensor
	judge *judge
	steps steps
	table Table
	k     []int // step number of each row
}

// start places a row by itself. A row below cranking takes what cranking
// takes: 0 rpm is what the input believes until the wheel has turned once.
func (p *proposal) start(rpm float64) (k int, ok bool) {
	w := p.s.Window(max(rpm, p.s.Options.CrankingLowRPM))
	aimV, ok := p.s.aim(w)
	if !ok {
		return 0, false
	}
	return p.s.place(w, aimV), true
}

// settle moves rows by single steps while that raises the worst score beside
// them, relative to what the window allows there.
func (p *proposal) settle() {
	for moved := true; moved; {
		moved = false
		for first := 0; first < len(p.k); {
			last := p.tied(first)
			moved = p.improve(first, last) || moved
			first = last + 1
		}
	}
}

// tied is the last of the rows that hold one value with the first: those up to
// the low end of cranking.
func (p *proposal) tied(first int) (last int) {
	last = first
	for last+1 < len(p.k) && p.table.Rows[last+1].RPM <= p.s.Options.CrankingLowRPM {
		last++
	}
	return last
}

// leastGain is the smallest gain in score worth a move; it also ends the moves.
const leastGain = 1e-6

func (p *proposal) improve(first, last int) (moved bool) {
	if !p.table.Rows[first].ThresholdV.Known {
		return false
	}
	fromRPM, toRPM := p.beside(first, last)
	best := p.worst(fromRPM, toRPM)
	for _, step := range []int{1, -1} {
		for {
			k := p.k[first] + step
			if k != p.steps.limit(k) {
				break
			}
			p.set(first, last, k)
			score := p.worst(fromRPM, toRPM)
			if score < best+leastGain {
				p.set(first, last, k-step)
				break
			}
			best, moved = score, true
		}
	}
	return moved
}

func (p *proposal) set(first, last, k int) {
	for i := first; i <= last; i++ {
		p.k[i] = k
		p.table.Rows[i].ThresholdV = captures.Some(p.steps.volts(k))
	}
}

// beside is the range of speeds that the rows have a say in.
func (p *proposal) beside(first, last int) (fromRPM, toRPM float64) {
	toRPM = math.Inf(1)
	if first > 0 {
		fromRPM = p.table.Rows[first-1].RPM
	}
	if last+1 < len(p.k) {
		toRPM = p.table.Rows[last+1].RPM
	}
	return fromRPM, toRPM
}

// worst is the least score in a range of speeds relative to the best its
// window allows; meeting both targets is as good as it gets.
func (p *proposal) worst(fromRPM, toRPM float64) float64 {
	worst := 1.0
	for _, w := range p.judge.windows {
		if w.RPM < fromRPM || w.RPM > toRPM {
			continue
		}
		thresholdV := p.table.At(w.RPM)
		if !thresholdV.Known {
			continue
		}
		score := min(1, w.judge(thresholdV.Value).score) / min(1, w.bestScore())
		worst = min(worst, score)
	}
	return worst
}
