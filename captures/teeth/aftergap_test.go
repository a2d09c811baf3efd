package teeth

import (
	"testing"

	"armcurve/captures/teeth/pulses"
)

// TestIsPitch: pitches of 546 samples while a wheel was slow, two of together 815 over
// a gap, and 318 behind it.
func TestIsPitch(t *testing.T) {
	s := surveyor{spread: 2.27}
	if !s.isPitch(546, &pulses.Mark{Width: 240, Own: 250}) {
		t.Error("a pitch is taken for a gap")
	}
	if s.isPitch(815, &pulses.Mark{Width: 225, Own: 194}) {
		t.Error("a gap is taken for a pitch")
	}
	if !s.isPitch(318, &pulses.Mark{Width: 190, Own: 140}) {
		t.Error("the pitch behind it is taken for a gap")
	}
}

// TestAfterGapCranking: wherever in a compression the gap lies, the tooth behind it is
// measured where its own peak is, and not where a slow tooth would have one.
func TestAfterGapCranking(t *testing.T) {
	const steps = 12
	for step := range steps {
		e := engine{wheel: "36-1", sigma: 0.25 / 36, rpm: 300, end: 300, ripple: 0.45, cylinder: 8, hz: 60000, seconds: 1.2,
			noise: 0.03, phase: float64(step) / steps, seed: uint64(step), stated: true}
		for p := range 35 {
			e.places, e.gains = append(e.places, float64(p)/36), append(e.gains, 1)
		}
		m := e.measure(t)
		for i, tooth := range m.ToothList {
			if i == 0 || i+1 == len(m.ToothList) || tooth.Number != 1 {
				continue
			}
			if beside := min(m.ToothList[i-1].PeakV, m.ToothList[i+1].PeakV); !(tooth.PeakV > 0.8*beside) {
				t.Errorf("gap at %d/%d of a turn: %.3f V at %.3f s, %.3f V beside", step, steps, tooth.PeakV, tooth.TimeS, beside)
			}
		}
	}
}
