package numbering

import (
	"math"
	"slices"
	"testing"

	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// TestCompressionsStrikeNone: while an engine is cranked short compressions take falls far
// from where an even turning has them; nothing struck these.
func TestCompressionsStrikeNone(t *testing.T) {
	const turns, perTurn, slowed = 12, 2, 0.55
	p := wheels.New(append(slices.Repeat([]int{1}, 34), 2))
	var run []pulses.Mark
	at := 100.0
	for k := range 36 * turns {
		angle := float64(k) / 36
		at += 50 / (1 - slowed*math.Pow((1+math.Cos(2*math.Pi*perTurn*angle))/2, 8))
		if k%36 < 35 {
			run = append(run, pulses.Mark{At: at, Flux: 1, Swing: 1, Width: 32, Own: 32, PeakV: 1, FarV: 1, IsNew: k == 0})
		}
	}
	struck, seen := 0, 0
	n := Numberer{Pattern: p, StepS: 1e-4, Crawl: 1. / 36 / 50 / 2, trail: make([]place, len(p.Parts)+trailLen)}
	n.Out = func(x Tooth) {
		seen++
		if x.Struck {
			struck++
		}
	}
	n.startRun(run[:80])
	for _, m := range run[80:] {
		n.count(m)
	}
	n.End(at + 1)
	if struck > 0 || seen != 35*turns {
		t.Errorf("%d struck of %d seen, %d passed", struck, seen, 35*turns)
	}
}
