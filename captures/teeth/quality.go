package teeth

import (
	"math"
)

// stepFinder finds the instrument's step: the smallest difference between
// neighbouring samples that is not nothing.
type stepFinder struct {
	step float64
	n    int
}

func (s *stepFinder) add(v []float64) {
	if s.n > 1<<16 {
		return
	}
	s.n += len(v)
	if s.step == 0 {
		s.step = math.Inf(1)
	}
	for i := 1; i < len(v); i++ {
		if d := math.Abs(v[i] - v[i-1]); d > 0 && d < s.step {
			s.step = d
		}
	}
}

// measurement sums up.
func (r *run) measurement() Measurement {
	m := &r.m
	m.Info, m.Samples, m.Sensor, m.Stated = r.info, r.samples, r.options.Sensor, r.options.Wheel
	m.Channel = r.info.Channels[r.options.Channel]
	m.Unseen = r.numberer.unseen
	m.Signal, m.Polarity = Reluctor, Normal
	if p := r.numberer.pattern; p != nil {
		m.Wheel = p.wheel
	}
	m.Readings = r.gatherer.readings(r.options.Sensor)
	return *m
}
