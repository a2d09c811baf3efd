package noise

import "math"

// Methods of telling the noise under the teeth: what is left of the wave when the same
// stretch of the wheel's pattern is taken away from it, as other teeth or other
// turns show it, or where no tooth is near. What changes from tooth to tooth or
// from turn to turn comes on top of the noise, by another amount in each method.
const (
	AlikeTurns     = iota // against the turns on either side, where teeth are alike as well
	BesideTurns           // against the same, where they are not
	BesideTeeth           // against the teeth on either side
	InPauses              // between teeth that stand apart, by itself
	SecondTurn            // against the turn before the last: an engine's cycle is two
	UnsteadyBeside        // against the teeth, where the speed changed from one to the next
	methods
)

// isOfTurnBefore tells that a method takes from the turn before what those on either side
// of that have.
func isOfTurnBefore(method int) bool { return method == AlikeTurns || method == BesideTurns }

// ByMethod are what each method left; nil for nothing.
type ByMethod [methods]*ByPart

// ByPart is what one method left, by the quarter of the pitch: where the wave is
// steep, or high, it is compared less well.
type ByPart [segments]Residuals

// In is what one method left, to be added to.
func (n *ByMethod) In(method int) *ByPart {
	if n[method] == nil {
		n[method] = new(ByPart)
	}
	return n[method]
}

// IsUnsteady tells that the speed changed from one tooth to the next.
func (n *ByMethod) IsUnsteady() bool { return n[UnsteadyBeside].samples() > 0 }

func (n *ByMethod) merge(o *ByMethod) {
	for method, from := range o {
		if from.samples() == 0 {
			continue
		}
		for k := range from {
			n.In(method)[k].merge(&from[k])
		}
	}
}

func (n *ByMethod) Reset() {
	for _, s := range n {
		if s == nil {
			continue
		}
		for k := range s {
			s[k].reset()
		}
	}
}

// Samples is the number of samples of the method that has the most.
func (n *ByMethod) Samples() (most int64) {
	for _, s := range n {
		most = max(most, s.samples())
	}
	return most
}

func (s *ByPart) samples() (sum int64) {
	if s == nil {
		return 0
	}
	for k := range s {
		sum += s[k].n
	}
	return sum
}

// Level takes the quietest of all methods and parts of the pitch, as each has the
// noise and something else: but only where it is clearly quieter than the one
// that would be taken otherwise, as of several alike the quietest is too quiet. Where the
// wave was unsteady, what does not agree as a whole is no spike.
func (n *ByMethod) Level(unsteady bool) (best Level, ok bool) {
	var of estimate
	usual := math.Inf(1) // in the methods that tell of spikes
	for method, s := range n {
		if s == nil {
			continue
		}
		pooled := s.quietest(method)
		e, enough := pooled.estimate(method)
		if enough && method != AlikeTurns {
			usual = min(usual, e.sigmaV)
		}
		if !enough || ok && !e.quieter(of) {
			continue
		}
		ok, of = true, e
		best = Level{SigmaV: e.sigmaV, LargestV: e.largestV, rises: float64(pooled.rises) / float64(max(pooled.pairs, 1)), samples: pooled.n}
	}
	best.oddV, best.spikeV = n.spike(usual, unsteady)
	return best, ok
}

// quietest puts together the parts of the pitch that are as quiet as the
// quietest, but for chance.
func (s *ByPart) quietest(method int) (pooled Residuals) {
	var parts [segments]estimate
	var enough [segments]bool
	least := -1
	for k := range s {
		parts[k], enough[k] = s[k].estimate(method)
		if enough[k] && (least < 0 || parts[k].quieter(parts[least])) {
			least = k
		}
	}
	for k := range s {
		if least < 0 || enough[k] && !parts[least].quieter(parts[k]) {
			pooled.merge(&s[k])
		}
	}
	return pooled
}

// estimate is the noise as some residuals tell it.
type estimate struct {
	sigmaV, largestV float64
	chance           float64 // relative standard error of sigmaV
	fitted           float64 // part of it that the fit of the teeth's times may have taken away
}

// estimate works out the noise of some residuals.
func (r *Residuals) estimate(method int) (e estimate, ok bool) {
	sigma, largest, _, ok := r.body()
	k := math.Sqrt(surplus(method, r.correlation()))
	apart := r.apart()
	return estimate{sigma / k, largest / k, 1 / math.Sqrt(2*max(1, apart)), min(mostFitted, float64(r.n-r.pairs)/max(1, 2*apart))}, ok
}

const (
	clearlyQuieter = 0.05
	mostFitted     = 0.25
)

// quieter tells that one estimate is clearly lower than another.
func (e *estimate) quieter(than estimate) bool {
	return e.sigmaV < than.sigmaV*(1-clearlyQuieter-e.fitted-2*math.Hypot(e.chance, than.chance))
}

// spike is the largest value that is no noise, of all methods and of the parts that
// are not much louder than the noise. Teeth and turns that differ leave large values
// too; so there is a spike only if the method that has no loud part shows one. What comes
// at the same place in each turn is hidden from those that compare turns: where teeth
// do as well, those tell.
func (n *ByMethod) spike(sigmaV float64, unsteady bool) (highest, spikeV float64) {
	const much = 4
	most, calmest, isSeen := n.Samples(), math.Inf(1), false
	for method, s := range n {
		if s == nil || method == AlikeTurns {
			continue
		}
		loudest, own := 0.0, 0.0
		for k := range s {
			sigma, _, spike, ok := s[k].body()
			if !ok {
				continue
			}
			loudest = max(loudest, sigma/math.Sqrt(surplus(method, s[k].correlation())))
			if sharp := float64(s[k].sharp); unsteady && method != InPauses {
				// A whole interval is off where the speed changes at once, or not as in other turns.
				if spike = min(spike, sharp); spike < spikeAt*sigma {
					spike = 0
				}
			}
			if sigma < much*sigmaV {
				own = max(own, spike)
			}
		}
		highest = max(highest, own)
		if loudest > 0 && loudest < calmest && 2*s.samples() > most {
			calmest, isSeen = loudest, own > 0
		}
	}
	if isSeen {
		spikeV = highest
	}
	return highest, spikeV
}

// surplus is the factor by which the variance of what a method leaves of noise
// exceeds the noise's own. rho is the correlation of neighbouring samples.
// What is taken away has a variance of its own: that of one sample where noise is
// smooth, and less where the interpolation between samples smooths it.
func surplus(method int, rho float64) float64 {
	// Mean over the fraction of the sum of the squared weights of takeFrom.
	const white = 0.822
	taken := white + (1-white)*max(0, rho)
	switch method {
	case InPauses:
		return 1
	case SecondTurn:
		return 1 + taken
	}
	return 1 + taken/2
}
