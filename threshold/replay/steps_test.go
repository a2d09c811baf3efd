package replay

import (
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
	"armcurve/threshold"
)

// TestRestOnAStep: where a noisy wave was recorded in coarse steps, one of which is its rest
// level, what is counted does not hang on the last digits of that level as it was told.
func TestRestOnAStep(t *testing.T) {
	const stepV = 0.25
	onStep := inSteps(t, stepV, 0)
	for _, offV := range []float64{-0.06 * stepV, -1e-6, 1e-6, 0.06 * stepV} {
		if got := inSteps(t, stepV, offV); got.Counted != onStep.Counted || got.False != onStep.False {
			t.Errorf("told %g V off: %d counted, %d false; want %d, %d", offV, got.Counted, got.False, onStep.Counted, onStep.False)
		}
	}
	if onStep.False == 0 {
		t.Error("no false event: it shows nothing")
	}
}

// inSteps plays a noisy wave of a wheel without a gap, recorded in steps about a rest level
// of 0, that is told as so high.
func inSteps(t *testing.T, stepV, toldV float64) Result {
	t.Helper()
	wheel, err := captures.ParseWheel("24")
	if err != nil {
		t.Fatal(err)
	}
	const pitch, teeth, rpm = 100, 1200, 1500
	table := threshold.Table{Rows: []threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.2)}, {RPM: 8000, ThresholdV: captures.Some(0.2)}}}
	r, err := New(captures.WaveInfo{StepS: 60.0 / rpm / 24 / pitch}, Options{Tables: []threshold.Table{table}, Wheel: wheel})
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(3, 4))
	for k := range teeth {
		v := make([]float64, pitch)
		for i := range v {
			x := -math.Sin(2*math.Pi*float64(i)/pitch) + 0.2*random.NormFloat64()
			v[i] = stepV * math.Round(x/stepV)
		}
		r.Wave(int64(k*pitch), v)
		if k > 0 {
			at := float64((k-1)*pitch) + pitch
			r.Tooth(captures.Tooth{TimeS: at, Number: (k-1)%24 + 1, RPM: rpm, PeakV: 1}, true, at, toldV+1e-9*stepV*float64(k%2))
		}
	}
	r.End()
	result, err := r.Result(0, Facts{Wheel: wheel})
	if err != nil {
		t.Fatal(err)
	}
	return result
}

func TestStepsAbout(t *testing.T) {
	for _, c := range []struct {
		samples                 []float64
		toldV, restV, tolerance float64
	}{
		{[]float64{-0.5, 0, math.NaN(), 0.5, 1}, 0.01, 0.005, 1e-12},
		{[]float64{-0.5, 0, 0.5, 1}, -0.04, 0.005, 1e-12},
		{[]float64{-0.5, 0, 0.5, 1}, 0.46, 0.505, 1e-12},
		{[]float64{-0.5, 0, 0.5, 1}, 0.25, 0.25, 0}, // amid
		{[]float64{0.5, 1}, 0.01, 0.01, 0},          // nothing below: no step is known
		{nil, 0.01, 0.01, 0},
	} {
		if got := stepsAbout(c.toldV, c.samples).rest(c.toldV); math.Abs(got-c.restV) > c.tolerance {
			t.Errorf("%v, %g V: %g V, want %g", c.samples, c.toldV, got, c.restV)
		}
	}
}
