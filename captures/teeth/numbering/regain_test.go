package numbering

import (
	"slices"
	"testing"

	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// sixtyTwo are marks of a 60-2 wheel at a steady speed, a pitch being 26 samples, up to a
// number of turns; those from one place up to another, in pitches, are lost.
func sixtyTwo(turns, lostFrom, lostTo int) (run []pulses.Mark, slots []int) {
	for k := range 60 * turns {
		if k%60 >= 58 || k >= lostFrom && k < lostTo {
			continue
		}
		run = append(run, pulses.Mark{At: 100 + 26*float64(k), Flux: 1, Swing: 1, Width: 13, Own: 13, PeakV: 1, FarV: 1, IsNew: k == 0})
		slots = append(slots, k%60)
	}
	return run, slots
}

// regained numbers a run of which the first marks show the wheel, and tells which of its
// teeth were given a false number.
func regained(run []pulses.Mark, slots []int, amid func(*Numberer, int)) (wrong []int) {
	p := wheels.New(append(slices.Repeat([]int{1}, 57), 3))
	n := Numberer{Pattern: p, StepS: 5e-6, Crawl: 1e-6, trail: make([]place, len(p.Parts)+trailLen)}
	n.Out = func(x Tooth) {
		k, ok := slices.BinarySearchFunc(run, x.At, func(m pulses.Mark, at float64) int { return int(m.At - at) })
		if x.Seen && (!ok || slots[k] != x.Slot) {
			wrong = append(wrong, k)
		}
	}
	n.startRun(run[:130])
	for k, m := range run[130:] {
		amid(&n, 130+k)
		n.count(m)
	}
	n.End(run[len(run)-1].At + 1)
	return wrong
}

// TestLostAtAStrike: where the wave is lost for more than two turns, the last tooth before
// may be cut off and look as if something had struck it; behind it the count goes on.
func TestLostAtAStrike(t *testing.T) {
	const from = 60*6 + 40
	for lost := 10; lost < 400; lost += 7 {
		run, slots := sixtyTwo(20, from, from+lost)
		for k := range run {
			if run[k].At < 100+26*from {
				continue
			}
			run[k-1].Step = -0.7
			break
		}
		if wrong := regained(run, slots, func(*Numberer, int) {}); len(wrong) > 0 {
			t.Errorf("%d pitches lost: %d teeth have a false number, the first %d", lost, len(wrong), wrong[0])
		}
	}
}

// TestWrongCount: a wrong count is found out by the wheel's gap within three turns.
func TestWrongCount(t *testing.T) {
	run, slots := sixtyTwo(20, 0, 0)
	for _, shift := range []int{1, 3, 20, 35} {
		const at = 400
		wrong := regained(run, slots, func(n *Numberer, k int) {
			if k == at {
				n.slot = (n.slot + shift) % 58
			}
		})
		if len(wrong) == 0 || wrong[len(wrong)-1] > at+3*58 {
			t.Errorf("%d teeth too far on: %d teeth have a false number, the last %d", shift, len(wrong), wrong[len(wrong)-1])
		}
	}
}
