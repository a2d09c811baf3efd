package threshold

import (
	"math"

	"armcurve/captures"
)

// weakestTooth is what was measured of the weakest tooth.
type weakestTooth struct {
	// ratio is weakest ÷ mean tooth at steady speed.
	ratio float64
	// whileCranking are the readings that measured it with the ripple in it,
	// by speed.
	whileCranking []captures.Reading
}

// newWeakestTooth takes the lowest ratio of the readings at steady speed, which
// are no outliers: a short tooth is short at every speed, so a higher ratio
// elsewhere is luck.
func newWeakestTooth(readings []captures.Reading, o Options) (w weakestTooth, measured bool) {
	w.ratio = o.WeakestRatio
	for _, r := range readings {
		switch {
		case !r.WeakestV.Known || r.RPM <= 0:
		case r.RPM <= 1.5*o.CrankingRPM:
			w.whileCranking = append(w.whileCranking, r)
		case r.PeakV.Value > 0 && !r.Clipped:
			ratio := math.Min(r.WeakestV.Value/r.PeakV.Value, 1)
			if !measured || ratio < w.ratio {
				w.ratio, measured = ratio, true
			}
		}
	}
	return w, measured
}

// WeakestV is the weakest tooth to be expected at a speed, in volts: the lower
// bound of the curve, times weakest ÷ mean, at the slowest instant of the
// revolution, since the table is looked up at the mean speed; not above the
// input's clamp. Near cranking a weakest tooth measured there takes its place,
// scaled to the speed, and gives way to it between 1.5 and 3 × cranking.
func (s *Sensor) WeakestV(rpm float64) float64 { return s.weakestV(rpm, s.Curve.At(rpm)) }

func (s *Sensor) weakestV(rpm float64, estimate Estimate) float64 {
	v := estimate.LowV * s.weakest.ratio * (1 - s.ripple.at(rpm))
	if measuredV, ok := s.crankingWeakestV(rpm); ok {
		v = s.alongCranking(rpm, measuredV, v)
	}
	return math.Max(0, min(v, estimate.V, s.Options.Input.ClampV.Or(math.Inf(1))))
}

// crankingWeakestV is the least of the weakest teeth measured while cranking,
// each scaled from its speed to this one and from its ripple to the one here.
func (s *Sensor) crankingWeakestV(rpm float64) (v float64, ok bool) {
	if rpm >= 3*s.Options.CrankingRPM {
		return 0, false
	}
	v = math.Inf(1)
	for _, r := range s.weakest.whileCranking {
		scale := rpm / r.RPM * (1 - s.ripple.at(rpm)) / (1 - s.ripple.at(r.RPM))
		v = min(v, r.WeakestV.Value*scale)
	}
	return v, len(s.weakest.whileCranking) > 0
}
