package simulate

import (
	"fmt"
	"math"
)

// Rig is everything that makes a capture, as plain data. Its lists are not to be
// changed while a Source of it is being read.
type Rig struct {
	Name     string   `json:"name"`
	Seed     uint64   `json:"seed"`
	SampleHz float64  `json:"sample_hz"`
	LengthS  float64  `json:"length_s"`
	StartS   float64  `json:"start_s"`   // the file's own time of the first sample
	StartDeg float64  `json:"start_deg"` // crank angle of the first sample, 0 to below 720
	Speed    Profile  `json:"speed"`
	Ripple   Ripple   `json:"ripple"`
	Sensors  []Sensor `json:"sensors"` // one channel each
}

func (r *Rig) check() error {
	if !(r.SampleHz > 0 && r.SampleHz <= 1e8) {
		return fmt.Errorf("sample rate is %g Hz: want above 0 and at most 1e8", r.SampleHz)
	}
	if !(r.LengthS > 0 && r.LengthS*r.SampleHz <= 1e12) {
		return fmt.Errorf("length is %g s: want above 0 and at most 1e12 samples", r.LengthS)
	}
	if math.IsNaN(r.StartS) || math.IsInf(r.StartS, 0) || !(r.StartDeg >= 0 && r.StartDeg < 720) {
		return fmt.Errorf("start is %g s at %g°: want a finite time and 0 to below 720°", r.StartS, r.StartDeg)
	}
	if err := r.Speed.check(); err != nil {
		return err
	}
	if err := r.Ripple.check(); err != nil {
		return err
	}
	if len(r.Sensors) == 0 || len(r.Sensors) > 8 {
		return fmt.Errorf("rig has %d sensors: want 1 to 8", len(r.Sensors))
	}
	for i := range r.Sensors {
		if err := r.Sensors[i].check(r.SampleHz); err != nil {
			return fmt.Errorf("sensor %d (%s): %w", i+1, r.Sensors[i].Name, err)
		}
		for j := range i {
			if r.Sensors[j].Name == r.Sensors[i].Name {
				return fmt.Errorf("sensors %d and %d are both named %q", j+1, i+1, r.Sensors[i].Name)
			}
		}
	}
	return nil
}

// stepsPerDetail is how finely the coil is stepped through the shortest feature
// of the wave at the highest speed.
const stepsPerDetail = 20

// stepsPerSample is the number of steps of the coil in one sample.
func (r *Rig) stepsPerSample() int {
	top := r.Speed.MaxRPM() / 60 * (1 + r.Ripple.Share)
	steps := 1.0
	for i := range r.Sensors {
		s := &r.Sensors[i]
		if s.SquareV > 0 {
			continue
		}
		steps = max(steps, math.Ceil(stepsPerDetail*top*s.perCrank()/s.detail()/r.SampleHz))
	}
	return int(min(steps, 1000))
}

// settleMax bounds the run-in, whose length has no bound of its own.
const settleMax = 1 << 20

// settleSteps is the run-in before the first sample, in steps of the coil: as
// long as the coil remembers, and a whole tooth so that the first has its peak.
func (r *Rig) settleSteps(stepS float64) int {
	settle := 0.0
	for i := range r.Sensors {
		s := &r.Sensors[i]
		settle = max(settle, s.Coil.settleS())
		if speed := r.Speed[0].RPM / 60 * s.perCrank(); speed > 0 {
			settle = max(settle, 1.5*s.detail()/speed)
		}
	}
	return int(min(settleMax, math.Ceil(settle/stepS)+4))
}
