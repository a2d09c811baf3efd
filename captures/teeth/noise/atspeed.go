package noise

import "armcurve/captures"

// AtSpeed is the noise at one range of speed.
type AtSpeed struct {
	all          ByMethod
	toneless     ByMethod // of where there were tones, without them
	toned, toneV float64  // samples there, and sum over them of the tones' amplitudes
}

// Add takes the noise that was told while a turn passed. What compares a turn with those
// on either side told that of the turn before, which has a speed of its own.
func (a *AtSpeed) Add(n *ByMethod, before *AtSpeed) {
	for method := range n {
		var one ByMethod
		one[method] = n[method]
		if isOfTurnBefore(method) {
			before.all.merge(&one)
		} else {
			a.all.merge(&one)
		}
	}
}

// Samples is the number of those of the method that has the most.
func (a *AtSpeed) Samples() int64 { return a.all.Samples() }

func (a *AtSpeed) Merge(o *AtSpeed) {
	a.all.merge(&o.all)
	a.toneless.merge(&o.toneless)
	a.toned += o.toned
	a.toneV += o.toneV
}

// Level is the noise without its tones, and those beside it, if there are any.
func (a *AtSpeed) Level() (l Level, toneV captures.Maybe, ok bool) {
	unsteady := a.all.IsUnsteady()
	l, ok = a.all.Level(unsteady)
	if a.toned == 0 {
		return l, toneV, ok
	}
	toneV = captures.Some(a.toneV / a.toned)
	if without, enough := a.toneless.Level(unsteady); enough && (!ok || without.SigmaV < l.SigmaV) {
		without.spikeV, without.oddV = max(without.spikeV, l.spikeV), max(without.oddV, l.oddV)
		l, ok = without, true
	}
	l.LargestV += toneV.Value // which is in the wave, if not in what was compared
	return l, toneV, ok
}
