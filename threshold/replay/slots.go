package replay

// slots follows how high each tooth of the wheel rises beside the others, the
// speed at it taken out.
type slots struct {
	turn  []float64 // height ÷ rpm of the turn under way, by tooth; 0 none
	reg   []bool    // no gap before it
	gain  float64   // mean height ÷ rpm over the last turn, teeth after gaps left out
	odd   int       // 1 in every second turn
	ratio []slot
}

// slot is one tooth of the wheel.
type slot struct {
	now      float64 // lately: height ÷ that of the mean tooth
	sum, n   float64
	turns    [2]spread // in every second turn, and in the others
	afterGap float64   // times that it came after a gap
}

func (s *slots) begin(teeth int) {
	s.turn, s.reg, s.ratio = make([]float64, teeth), make([]bool, teeth), make([]slot, teeth)
}

// add takes the next tooth.
func (s *slots) add(t *passed, afterGap bool) {
	k := t.number - 1
	if k < 0 || k >= len(s.turn) {
		return
	}
	if k == 0 {
		s.close()
	}
	if t.seen && t.height > 0 && t.rpm > 0 {
		s.turn[k] = t.height / t.rpm
		s.reg[k] = !afterGap
	}
}

// close learns from a turn that is whole.
func (s *slots) close() {
	sum, n, all := 0.0, 0.0, 0
	for k, g := range s.turn {
		if g > 0 {
			all++
		}
		if g > 0 && s.reg[k] {
			sum, n = sum+g, n+1
		}
	}
	if n == 0 && all > 0 { // every tooth stands alone
		for _, g := range s.turn {
			sum += g
		}
		n = float64(all)
	}
	if 2*all > len(s.turn) && n > 0 {
		s.gain = sum / n
		for k, g := range s.turn {
			if g > 0 {
				s.ratio[k].learn(g/s.gain, !s.reg[k])
				s.ratio[k].turns[s.odd].add(g / s.gain)
			}
		}
	}
	s.odd = 1 - s.odd
	clear(s.turn)
}

func (s *slot) learn(x float64, afterGap bool) {
	s.n++
	s.sum += x
	s.now += (x - s.now) / min(s.n, 20)
	if afterGap {
		s.afterGap++
	}
}

// isAfterGap tells whether the tooth mostly came after a gap.
func (s *slot) isAfterGap() bool { return s.afterGap > s.n/2 }

// spread is the mean of some figures and how far they are from it.
type spread struct{ n, sum, squares float64 }

func (s *spread) add(x float64) { s.n, s.sum, s.squares = s.n+1, s.sum+x, s.squares+x*x }

// of is the mean and its variance.
func (s *spread) of() (mean, variance float64) {
	mean = s.sum / s.n
	return mean, max(s.squares/s.n-mean*mean, 0) / (s.n - 1)
}

const (
	fewestAlternate = 8 // turns of either kind
	surelyAlternate = 5 // standard deviations
)

// alternation is a tooth's mean height in the turns where it is lower ÷ that in
// the others; 1 where every second turn is like those between.
func (s *slot) alternation() float64 {
	if min(s.turns[0].n, s.turns[1].n) < fewestAlternate {
		return 1
	}
	a, va := s.turns[0].of()
	b, vb := s.turns[1].of()
	if d := a - b; d*d <= surelyAlternate*surelyAlternate*(va+vb) {
		return 1
	}
	return min(a, b) / max(a, b)
}

func (s *slot) mean() float64 { return s.sum / max(s.n, 1) }

// usual is a tooth's height beside the mean one and its height in volts, from
// the turns before; 0 where they are too few.
func (s *slots) usual(t *passed) (level, heightV float64) {
	k := t.number - 1
	if k < 0 || k >= len(s.ratio) || s.ratio[k].n < 3 {
		return 0, 0
	}
	return s.ratio[k].now, s.ratio[k].now * s.gain * t.rpm
}
