package teeth

import "math"

// Ways to hear the noise under the teeth: what is left of the wave when the same
// stretch of the wheel's pattern is taken away from it, as other teeth or other
// turns show it, or where no tooth is near. What changes from tooth to tooth or
// from turn to turn comes on top of the noise, by another amount in each way.
const (
	alikeTurns     = iota // against the turns on either side, where teeth are alike as well
	besideTurns           // against the same, where they are not
	besideTeeth           // against the teeth on either side
	inPauses              // between teeth that stand apart, by itself
	secondTurn            // against the turn before the last: an engine's cycle is two
	unsteadyBeside        // against the teeth, where the speed changed from one to the next
	ways
)

// noises are what was heard in each way; nil for nothing.
type noises [ways]*sound

// sound is what one way left, by the quarter of the pitch: where the wave is
// steep, or high, it is compared less well.
type sound [segments]residue

// in is what is heard in one way, to be added to.
func (n *noises) in(way int) *sound {
	if n[way] == nil {
		n[way] = new(sound)
	}
	return n[way]
}

func (n *noises) merge(o *noises) {
	for way, from := range o {
		if from.heard() == 0 {
			continue
		}
		for k := range from {
			n.in(way)[k].merge(&from[k])
		}
	}
}

func (n *noises) reset() {
	for _, s := range n {
		if s == nil {
			continue
		}
		for k := range s {
			s[k].reset()
		}
	}
}

// heard is the number of samples of the way that has the most.
func (n *noises) heard() (most int64) {
	for _, s := range n {
		most = max(most, s.heard())
	}
	return most
}

func (s *sound) heard() (sum int64) {
	if s == nil {
		return 0
	}
	for k := range s {
		sum += s[k].n
	}
	return sum
}

// hush is the noise as it is judged from what was heard.
type hush struct {
	sigmaV   float64 // standard deviation without spikes
	largestV float64 // on the arming side, spikes apart
	spikeV   float64 // largest of them; 0 none
	oddV     float64 // the same, or what teeth leave that differ
	rises    float64 // upward crossings of zero per sample
	samples  int64   // that it rests on
}

// judge takes the quietest of all ways and parts of the pitch, as each has the
// noise and something else: but only where it is clearly quieter than the one
// that would be taken otherwise, as of several alike the quietest is too quiet.
func (n *noises) judge() (best hush, ok bool) {
	var of estimate
	usual := math.Inf(1) // in the ways that tell of spikes
	for way, s := range n {
		if s == nil {
			continue
		}
		pooled := s.quietest(way)
		e, enough := pooled.estimate(way)
		if enough && way != alikeTurns {
			usual = min(usual, e.sigmaV)
		}
		if !enough || ok && !e.quieter(of) {
			continue
		}
		ok, of = true, e
		best = hush{sigmaV: e.sigmaV, largestV: e.largestV, rises: float64(pooled.rises) / float64(max(pooled.pairs, 1)), samples: pooled.n}
	}
	best.oddV, best.spikeV = n.spike(usual)
	return best, ok
}

// quietest puts together the parts of the pitch that are as quiet as the
// quietest, but for chance.
func (s *sound) quietest(way int) (pooled residue) {
	var parts [segments]estimate
	var enough [segments]bool
	least := -1
	for k := range s {
		parts[k], enough[k] = s[k].estimate(way)
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

// estimate is the noise as one residue tells it.
type estimate struct {
	sigmaV, largestV float64
	chance           float64 // relative standard error of sigmaV
	fitted           float64 // part of it that the fit of the teeth's times may have taken away
}

// estimate works out the noise of one residue.
func (r *residue) estimate(way int) (e estimate, ok bool) {
	sigma, largest, _, ok := r.body()
	k := math.Sqrt(surplus(way, r.correlation()))
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

// spike is the largest value that is no noise, of all ways and of the parts that
// are not much louder than the noise. Teeth and turns that differ leave large values
// too; so there is a spike only if the way that has no loud part shows one. What comes
// at the same place in each turn is hidden from those that compare turns: where teeth
// do as well, those tell.
func (n *noises) spike(sigmaV float64) (highest, spikeV float64) {
	const much = 4
	most, calmest, isSeen := n.heard(), math.Inf(1), false
	for way, s := range n {
		if s == nil || way == alikeTurns {
			continue
		}
		loudest, own := 0.0, 0.0
		for k := range s {
			sigma, _, spike, ok := s[k].body()
			if !ok {
				continue
			}
			loudest = max(loudest, sigma/math.Sqrt(surplus(way, s[k].correlation())))
			if sigma < much*sigmaV {
				own = max(own, spike)
			}
		}
		highest = max(highest, own)
		if loudest > 0 && loudest < calmest && 2*s.heard() > most {
			calmest, isSeen = loudest, own > 0
		}
	}
	if isSeen {
		spikeV = highest
	}
	return highest, spikeV
}

// surplus is the factor by which the variance of what a way leaves of noise
// exceeds the noise's own. rho is the correlation of neighbouring samples.
// What is taken away has a variance of its own: that of one sample where noise is
// smooth, and less where the interpolation between samples smooths it.
func surplus(way int, rho float64) float64 {
	// Mean over the fraction of the sum of the squared weights of takeFrom.
	const white = 0.822
	taken := white + (1-white)*max(0, rho)
	switch way {
	case inPauses:
		return 1
	case secondTurn:
		return 1 + taken
	}
	return 1 + taken/2
}
