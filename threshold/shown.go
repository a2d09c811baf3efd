package threshold

import (
	"slices"

	"armcurve/captures"
)

// Use is what became of a reading.
type Use int

const (
	Fitted    Use = iota // its peak is one the curve is fitted to
	LeftOut              // its peak is contradicted by the others
	Limit                // clipped: its peak is a lower limit, and no more
	NoiseOnly            // it has no peak
)

func (u Use) String() string { return [...]string{"fitted", "left out", "clipped", "noise"}[u] }

// UsedReading is a reading and what became of it.
type UsedReading struct {
	captures.Reading
	Use Use
}

// Readings are those the sensor was fitted to, by speed.
func (s *Sensor) Readings() []UsedReading {
	list := make([]UsedReading, len(s.readings))
	for i, r := range s.readings {
		list[i] = UsedReading{r, s.use(r)}
	}
	return list
}

func (s *Sensor) use(r captures.Reading) Use {
	switch {
	case !r.PeakV.Known || r.PeakV.Value <= 0 || r.RPM <= 0:
		return NoiseOnly
	case r.Clipped:
		return Limit
	case slices.ContainsFunc(s.outliers, func(o outlier) bool { return o.reading == r }):
		return LeftOut
	}
	return Fitted
}

// ReadingScatter is the relative standard deviation of one reading about the
// curve, the one found weighed against the one expected, as the bounds use it.
func (s *Sensor) ReadingScatter() float64 { return s.Curve.readingSD }

// Margins are a threshold's distances to both sides of the window: weakest
// tooth ÷ threshold and threshold ÷ noise ceiling. Unknown where the noise is
// not known, and without a threshold.
func (w Window) Margins(thresholdV captures.Maybe) (signal, noise captures.Maybe) {
	if !thresholdV.Known {
		return
	}
	m := w.judge(thresholdV.Value)
	return m.signal, m.noise
}

// NoiseParts are the parts of the noise ceiling at a speed, the largest of
// which is the ceiling, always in the same order; nil where no noise was
// measured. A part that is not reckoned with is 0.
func (s *Sensor) NoiseParts(rpm float64) []NoisePart {
	if !s.noise.known() {
		return nil
	}
	countedRPM := max(rpm, s.Options.CrankingLowRPM)
	e := s.Curve.At(countedRPM)
	p := s.noiseParts(rpm, e.V, s.weakestV(countedRPM, e))
	return p[:]
}
