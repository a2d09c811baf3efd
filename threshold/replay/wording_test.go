package replay

import (
	"strings"
	"testing"

	"armcurve/captures"
	"armcurve/threshold"
)

// Where no tooth was seen, or the engine stood, no sentence speaks of an infinite
// voltage or of 0 rpm.
func TestNoNonsense(t *testing.T) {
	for _, kind := range []flags{isFalse | standing, isFalse, collapsed} {
		for _, rpm := range []float32{0, 3000} {
			r, err := New(captures.WaveInfo{StepS: 1e-5}, Options{Tables: []threshold.Table{threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.3)}}, threshold.Linear)}})
			if err != nil {
				t.Fatal(err)
			}
			r.start(0, captures.Wheel{})
			r.rim = rimOf(nil, nil)
			var list []fault
			for i := range 5 {
				list = append(list, fault{at: float64(1000 * i), rpm: rpm, heightV: 0.4, thresholdV: 0.3, flags: kind})
			}
			q := r.inquire(list, nil, 0, Facts{})
			texts := []string{q.raiseTo(func(f *fault) bool { return f.is(isFalse) }), q.lowerTo()}
			for _, c := range q.causes {
				texts = append(texts, c.Evidence, c.Advice)
			}
			for _, e := range q.excluded {
				texts = append(texts, e.Evidence)
			}
			for _, text := range texts {
				for _, nonsense := range []string{"Inf", "NaN", " 0 rpm"} {
					if strings.Contains(text, nonsense) {
						t.Errorf("flags %d at %g rpm: %q", kind, rpm, text)
					}
				}
			}
		}
	}
}

// A wave without a tooth leaves nothing to count.
func TestWithoutTeeth(t *testing.T) {
	wheel, err := captures.ParseWheel("36-1")
	if err != nil {
		t.Fatal(err)
	}
	r, err := New(captures.WaveInfo{StepS: 1e-5}, Options{Wheel: wheel, Tables: []threshold.Table{threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.3)}}, threshold.Linear)}})
	if err != nil {
		t.Fatal(err)
	}
	r.Wave(0, make([]float64, 500))
	r.End()
	res, err := r.Result(0, Facts{})
	if err != nil || res.Countable || res.Verdict != threshold.Unproven || len(res.Excluded) > 0 {
		t.Errorf("%+v, %v", res, err)
	}
}
