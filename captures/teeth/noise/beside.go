package noise

import "math"

// Beside is a level at a speed, judged anew by what is known at nearly the same speed, where
// more could be compared: a method leaves as much on top of the noise at the one as at the
// other, be it a tone or what teeth and turns differ by. The noise is not taken for less
// than there, and a tone is said to be in what is largest.
func (a *AtSpeed) Beside(own Level, o *AtSpeed, beside Level, toneV float64) Level {
	least := own.SigmaV * (1 - clearlyQuieter)
	if beside.SigmaV >= least {
		return own
	}
	for method := range methods {
		here, isHere := a.all.estimate(method)
		there, isThere := o.all.estimate(method)
		if !isHere || !isThere {
			continue
		}
		onTop := there.sigmaV*there.sigmaV - beside.SigmaV*beside.SigmaV
		left := here.sigmaV*here.sigmaV - onTop
		if sigmaV := max(beside.SigmaV, math.Sqrt(max(0, left))); onTop > 0 && sigmaV < least {
			least = sigmaV
			own.SigmaV, own.LargestV = sigmaV, here.largestV*sigmaV/here.sigmaV+toneV
		}
	}
	return own
}

// estimate is the noise as one method tells it.
func (n *ByMethod) estimate(method int) (e estimate, ok bool) {
	if n[method] == nil {
		return e, false
	}
	pooled := n[method].quietest(method)
	return pooled.estimate(method)
}
