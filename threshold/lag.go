package threshold

import (
	"math"

	"armcurve/captures"
)

// LagCrankDeg is how far a roll-off delays the signal at a speed, in crank
// degrees: atan(n ÷ corner) of the signal's period, which is one pitch of the
// wheel. Unknown for curves of another shape and without a wheel.
func (s *Sensor) LagCrankDeg(rpm float64) captures.Maybe {
	corner, ok := s.Curve.CornerRPM()
	teeth := s.Options.teethPerEngineTurn()
	if !ok || teeth == 0 {
		return captures.Maybe{}
	}
	return captures.Some(math.Atan(rpm/corner) * 180 / math.Pi / teeth)
}
