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
			run = append(run, pulses.Mark{At: 100 + pitch*(float64(k)+noise*random.NormFloat64()), Flux: flux, Width: 32, Own: 32, PeakV: 1, IsNew: k == 0})
		}
		var placed []Tooth
		n := Numberer{Pattern: p, trail: make([]place, len(p.Parts)+trailLen), Out: func(x Tooth) { placed = append(placed, x) }}
		n.startRun(run)
		if len(placed) == 0 || placed[0].Slot != 5 {
			t.Errorf("seed %d: %d placed, the first not in slot 5", seed, len(placed))
		}
	}
}
