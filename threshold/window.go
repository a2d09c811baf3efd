package threshold

import (
	"math"

	"armcurve/captures"
)

// Window is what one speed allows: the room between the noise ceiling and the
// weakest tooth, and the margins wanted on both sides. Volts are pessimistic:
// WeakestV a lower bound, NoiseV an upper one.
//
// Nothing slower than cranking has to be counted, but 0 rpm is what an input
// believes until the wheel has turned once, and a lower speed than the true one
// while it is spun up: the threshold there is met by the first teeth of a
// cranking engine. So below cranking the weakest tooth is that at its low end.
type Window struct {
	RPM       float64        // the one the input believes
	PeakV     float64        // amplitude curve
	WeakestV  float64        // weakest tooth to be counted
	NoiseV    captures.Maybe // noise ceiling; unknown where no noise was measured
	NoisePart string         // the part that sets it

	SignalTarget, NoiseTarget float64

	Extrapolated bool // beyond the speeds whose amplitude was measured
	Measured     bool // false where so little was measured that a miss proves nothing
	Turning      bool // false below cranking
}

// Window returns the window at a speed.
func (s *Sensor) Window(rpm float64) Window {
	countedRPM := max(rpm, s.Options.CrankingLowRPM)
	e, counted := s.Curve.At(rpm), s.Curve.At(countedRPM)
	w := Window{
		RPM:          rpm,
		PeakV:        e.V,
		WeakestV:     s.weakestV(countedRPM, counted),
		SignalTarget: s.signalTarget(rpm),
		NoiseTarget:  s.Options.Noise,
		Extrapolated: countedRPM < s.Curve.LowRPM || countedRPM > s.Curve.HighRPM,
		Measured:     rpm >= s.unmeasuredBelowRPM,
		Turning:      rpm >= s.Options.CrankingLowRPM,
	}
	if s.noise.known() {
		c := s.noiseParts(rpm, counted.V, w.WeakestV).ceiling()
		w.NoiseV, w.NoisePart = captures.Some(c.V), c.Name
	}
	return w
}

// alongCranking goes from atCranking, up to 1.5 × cranking, to above, from
// 3 × cranking on, in a straight line between.
func (s *Sensor) alongCranking(rpm, atCranking, above float64) float64 {
	share := (rpm/s.Options.CrankingRPM - 1.5) / 1.5
	return atCranking + min(max(share, 0), 1)*(above-atCranking)
}

// atUnknownNoise is the signal margin that a table has to keep while cranking
// when nothing is known of the noise: as little as will count every tooth,
// since unknown noise is the greater danger there.
const atUnknownNoise = 1.1

func (s *Sensor) signalTarget(rpm float64) float64 {
	atCranking := s.Options.SignalCranking
	if !s.noise.known() {
		atCranking = min(atCranking, atUnknownNoise)
	}
	return s.alongCranking(rpm, atCranking, s.Options.Signal)
}

// room is weakest tooth ÷ noise ceiling; +Inf where no noise is to be expected
// or known.
func (w Window) room() float64 {
	if w.NoiseV.Or(0) <= 0 {
		return math.Inf(1)
	}
	return w.WeakestV / w.NoiseV.Value
}

// closed tells that noise reaches the weakest tooth: no threshold is right.
func (w Window) closed() bool { return w.room() <= 1 }

// wanted are the margins that scores are counted in: the targets, where there is
// room for both. Where there is not, the same product is shared so that the best
// threshold keeps the same part of both targets in decibels. Counted in the
// targets themselves it would lie outside an open window where they differ by
// more than the room: with 2 and 1.25 wanted, under the noise up to a room of
// 1.6.
func (w Window) wanted() (signal, noise float64) {
	a, b := w.SignalTarget, w.NoiseTarget
	if room := w.room(); room > 0 && room < a*b {
		signal = math.Sqrt(a*b) * math.Pow(room, 0.5-w.noiseShare())
		return signal, a * b / signal
	}
	return a, b
}

// noiseShare is the part of the room, in decibels, that lies under the best
// threshold of a window without room for both targets.
func (w Window) noiseShare() float64 {
	a, b := math.Log(w.SignalTarget), math.Log(w.NoiseTarget)
	return b / (a + b)
}

// Margins are a threshold's distances to both sides of a window.
type margins struct {
	signal, noise captures.Maybe // ratios; unknown where not judged
	verdict       Verdict
	// score is the least margin relative to the one wanted: 1 where one target
	// is just met.
	score float64
}

// targetSlack keeps a margin that meets its target to rounding from being
// called thin.
const targetSlack = 1e-9

// judge gives the margins of a threshold in the window. One of 0 V arms on any
// noise, known or not.
func (w Window) judge(thresholdV float64) margins {
	m := margins{score: math.Inf(1)}
	signal, noise := w.wanted()
	if thresholdV > 0 {
		m.signal = captures.Finite(w.WeakestV / thresholdV)
		m.take(w.WeakestV/thresholdV, w.SignalTarget, signal)
	}
	if w.NoiseV.Known || thresholdV <= 0 {
		ratio := math.Inf(1)
		if thresholdV <= 0 {
			ratio = 0
		} else if w.NoiseV.Value > 0 {
			ratio = thresholdV / w.NoiseV.Value
		}
		m.noise = captures.Finite(ratio)
		m.take(ratio, w.NoiseTarget, noise)
	}
	if !w.Measured && m.verdict > Unproven || !w.NoiseV.Known && m.verdict < Unproven {
		m.verdict = Unproven
	}
	return m
}

// take counts one margin into the verdict and the score.
func (m *margins) take(ratio, target, wanted float64) {
	m.score = min(m.score, ratio/wanted)
	switch {
	case ratio <= 1:
		m.verdict = Fails
	case ratio < target*(1-targetSlack):
		m.verdict = max(m.verdict, Thin)
	}
}

// bestScore is the score of the best threshold this window allows, steps and
// limits apart: the one that misses or exceeds both wanted margins alike.
func (w Window) bestScore() float64 {
	if !w.NoiseV.Known {
		return math.Inf(1)
	}
	return math.Sqrt(w.room() / (w.SignalTarget * w.NoiseTarget))
}
