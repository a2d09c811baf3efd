package numbering

import (
	"math/rand/v2"
	"slices"
	"testing"

	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// TestRunWithAFilledGap: a run is placed on the wheel though a weak pulse fills its only gap.
func TestRunWithAFilledGap(t *testing.T) {
	const pitch, noise = 50.0, 0.05 // of a pitch
	p := wheels.New(append(slices.Repeat([]int{1}, 34), 2))
	for seed := range uint64(20) {
		random := rand.New(rand.NewPCG(seed, 15))
		var run []pulses.Mark
		for k := range 40 {
			flux := 1 + 0.05*random.NormFloat64()
			if (k+5)%36 == 35 {
				flux *= 0.4
			}
			run = append(run, pulses.Mark{At: 100 + pitch*(float64(k)+noise*random.NormFloat64()), Flux: flux, Swing: flux, Width: 32, Own: 32, PeakV: 1, IsNew: k == 0})
		}
		var placed []Tooth
		n := Numberer{Pattern: p, trail: make([]place, len(p.Parts)+trailLen), Out: func(x Tooth) { placed = append(placed, x) }}
		n.startRun(run)
		if len(placed) == 0 || placed[0].Slot != 5 {
			t.Errorf("seed %d: %d placed, the first not in slot 5", seed, len(placed))
		}
	}
}

// TestGapsFilledLater: pulses that come to fill every gap, weaker than any tooth, as a
// coupled one grows with speed, do not move the count; nor does one tooth that is weak.
func TestGapsFilledLater(t *testing.T) {
	const pitch, noise, turns, filledFrom = 50.0, 0.01, 30, 10
	p := wheels.New(append(slices.Repeat([]int{1}, 34), 2))
	for _, strength := range []float64{0.72, 0.76} {
		random := rand.New(rand.NewPCG(3, 16))
		var run []pulses.Mark
		for k := range 36 * turns {
			flux := 1 + 0.03*random.NormFloat64()
			switch {
			case k%36 == 35 && k < 36*filledFrom:
				continue
			case k%36 == 35:
				flux *= strength
			case k%36 == 22:
				flux *= 0.66
			}
			run = append(run, pulses.Mark{At: 100 + pitch*(float64(k)+noise*random.NormFloat64()), Flux: flux, Swing: flux, Width: 32, Own: 32, PeakV: 1, IsNew: k == 0})
		}
		n := Numberer{Pattern: p, trail: make([]place, len(p.Parts)+trailLen)}
		n.Out = func(x Tooth) {
			if at := int((x.At-100)/pitch+0.5) % 36; x.Slot != at {
				t.Errorf("a pulse %.2f times a tooth: slot %d at place %d", strength, x.Slot, at)
			}
		}
		n.startRun(run[:80])
		for _, m := range run[80:] {
			n.count(m)
		}
		n.End(run[len(run)-1].At + 1)
		if n.restarts > 0 {
			t.Errorf("a pulse %.2f times a tooth: the count began anew %d times", strength, n.restarts)
		}
	}
}
