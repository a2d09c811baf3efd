package numbering

import (
	"slices"
	"testing"

	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// turning are the marks of a wheel with one gap at a steady speed, a pitch being 26
// samples, and their slots.
type turning struct {
	pattern *wheels.Pattern
	run     []pulses.Mark
	slots   []int
}

// turned is such a wheel in twenty turns, of which the marks from one place up to another,
// in pitches, are lost.
func turned(pitches, missing, lostFrom, lostTo int) *turning {
	x := &turning{pattern: wheels.New(append(slices.Repeat([]int{1}, pitches-missing-1), missing+1))}
	for k := range pitches * 20 {
		if k%pitches >= pitches-missing || k >= lostFrom && k < lostTo {
			continue
		}
		x.run = append(x.run, pulses.Mark{At: 100 + 26*float64(k), Flux: 1, Swing: 1, Width: 13, Own: 13, PeakV: 1, FarV: 1, IsNew: k == 0})
		x.slots = append(x.slots, k%pitches)
	}
	return x
}

// wrong are the marks that were given a false slot. Before each of them one may interfere.
func (x *turning) wrong(amid func(*Numberer, int)) (wrong []int) {
	n := Numberer{Pattern: x.pattern, StepS: 5e-6, Crawl: 1e-6, trail: make([]place, len(x.pattern.Parts)+trailLen)}
	n.Out = func(t Tooth) {
		k, ok := slices.BinarySearchFunc(x.run, t.At, func(m pulses.Mark, at float64) int { return int(m.At - at) })
		if t.Seen && (!ok || x.slots[k] != t.Slot) {
			wrong = append(wrong, k)
		}
	}
	start := 2*len(x.pattern.Parts) + 4
	n.startRun(x.run[:start])
	for k, m := range x.run[start:] {
		amid(&n, start+k)
		n.count(m)
	}
	n.End(x.run[len(x.run)-1].At + 1)
	return wrong
}

// TestLostAtAStrike: where the wave is lost for more than two turns, the last tooth before
// may be cut off and look as if something had struck it; behind it the count goes on.
func TestLostAtAStrike(t *testing.T) {
	const from = 60*6 + 40
	for lost := 10; lost < 400; lost += 7 {
		x := turned(60, 2, from, from+lost)
		cut := slices.IndexFunc(x.run, func(m pulses.Mark) bool { return m.At >= 100+26*from }) - 1
		x.run[cut].Step = -0.7
		if wrong := x.wrong(func(*Numberer, int) {}); len(wrong) > 0 {
			t.Errorf("%d pitches lost: %d teeth have a false number, the first %d", lost, len(wrong), wrong[0])
		}
	}
}

// TestWrongCount: a wrong count is found out by the wheel's gap within three turns.
func TestWrongCount(t *testing.T) {
	for _, wheel := range [][2]int{{60, 2}, {36, 1}, {36, 2}, {24, 1}, {12, 1}} {
		x := turned(wheel[0], wheel[1], 0, 0)
		teeth := len(x.pattern.Parts)
		at := 7*teeth - 3
		for shift := 1; shift < teeth; shift++ {
			wrong := x.wrong(func(n *Numberer, k int) {
				if k == at {
					n.slot = (n.slot + shift) % teeth
				}
			})
			if len(wrong) == 0 || wrong[len(wrong)-1] > at+3*teeth {
				t.Errorf("%d-%d, %d teeth too far on: %d teeth have a false number, the last %d", wheel[0], wheel[1], shift, len(wrong), wrong[len(wrong)-1])
			}
		}
	}
}
