package simulate

import (
	"fmt"
	"math"
)

// Recorder is the instrument. The zero value records exactly.
type Recorder struct {
	OffsetV   float64 `json:"offset_v"`
	ACCoupleS float64 `json:"ac_couple_s"` // time constant of an AC input; 0: DC
	StepV     float64 `json:"step_v"`      // one step of the converter; 0: none
	RangeV    float64 `json:"range_v"`     // clips at ± this; 0: never
}

func (r Recorder) check() error {
	if !(r.ACCoupleS >= 0 && r.StepV >= 0 && r.RangeV >= 0) || math.IsNaN(r.OffsetV) ||
		math.IsInf(r.OffsetV+r.ACCoupleS+r.StepV+r.RangeV, 0) {
		return fmt.Errorf("recorder has %g V offset, %g s coupling, %g V step, ±%g V range: want finite values, 0 or more",
			r.OffsetV, r.ACCoupleS, r.StepV, r.RangeV)
	}
	return nil
}

// recorder carries what the instrument remembers between samples.
type recorder struct {
	Recorder
	slow  float64 // what AC coupling has taken away
	share float64 // of a step that it follows in one sample
}

func newRecorder(r Recorder, stepS float64) *recorder {
	g := &recorder{Recorder: r}
	if r.ACCoupleS > 0 {
		g.share = -math.Expm1(-stepS / r.ACCoupleS)
	}
	return g
}

func (g *recorder) record(v float64) float64 {
	v += g.OffsetV
	if g.ACCoupleS > 0 {
		g.slow += g.share * (v - g.slow)
		v -= g.slow
	}
	if g.RangeV > 0 {
		v = max(-g.RangeV, min(g.RangeV, v))
	}
	if g.StepV > 0 {
		v = math.Round(v/g.StepV) * g.StepV
	}
	return v
}
