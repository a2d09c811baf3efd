package numbering

import (
	"math"
	"slices"
	"testing"

	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// TestOpeningAmidCompressions: where a wave begins while compressions slow the wheel
// much, late marks are taken for no hole; where it turns evenly, they are.
func TestOpeningAmidCompressions(t *testing.T) {
	for _, ripple := range []float64{0.02, 0.4} {
		n := Numberer{Pattern: wheels.New(slices.Repeat([]int{1}, 24)), StepS: 1e-5, Crawl: 100 * 1e-5 / 60, Out: func(Tooth) {}}
		n.trail = make([]place, 24+trailLen)
		var marks []pulses.Mark
		at := 0.0
		for tooth := range 80 {
			turns := float64(tooth) / 24
			rpm := 900 * (1 + ripple*math.Cos(4*math.Pi*turns))
			at += 60 / rpm / 24 / n.StepS
			if tooth%24 != 6 {
				marks = append(marks, pulses.Mark{At: at, Balance: at, Width: 50, Own: 50, Flux: 1, Swing: 1, PeakV: 1})
			}
		}
		placed := n.startBroken(marks)
		if isEven := ripple < 0.1; (placed > 0) != isEven {
			t.Errorf("ripple %g: %d of %d marks placed over holes", ripple, placed, len(marks))
		}
	}
}

// TestOpeningOfAPull: an engine that speeds up over the first turns, as in any pull, turns
// evenly within each.
func TestOpeningOfAPull(t *testing.T) {
	n := Numberer{Pattern: wheels.New(slices.Repeat([]int{1}, 24)), StepS: 1e-5, Crawl: 100 * 1e-5 / 60, Out: func(Tooth) {}}
	n.trail = make([]place, 24+trailLen)
	var marks []pulses.Mark
	at := 0.0
	for tooth := range 72 {
		at += 60 / (700 + 12*float64(tooth)) / 24 / n.StepS
		if tooth < 40 || tooth > 47 {
			marks = append(marks, pulses.Mark{At: at, Balance: at, Width: 50, Own: 50, Flux: 1, Swing: 1, PeakV: 1})
		}
	}
	if placed := n.startBroken(marks); placed == 0 || n.Unseen != 8 {
		t.Errorf("%d of %d marks placed over a hole, %d teeth lost in it", placed, len(marks), n.Unseen)
	}
}

// TestOpeningOnce: where the wave is lost again and again in its first turns, each tooth
// is given once and in the order of time.
func TestOpeningOnce(t *testing.T) {
	for _, teeth := range []int{8, 12} {
		for shift := range 6 {
			n := Numberer{Pattern: wheels.New(append(slices.Repeat([]int{1}, teeth-2), 2)), StepS: 1e-5, Crawl: 100 * 1e-5 / 60}
			n.trail = make([]place, teeth+trailLen)
			last := 0.0
			n.Out = func(p Tooth) {
				if p.Seen && p.At <= last {
					t.Fatalf("%d-1, shift %d: a tooth at %g after one at %g", teeth, shift, p.At, last)
				}
				if p.Seen {
					last = p.At
				}
			}
			at, isNew := 0.0, true
			for tooth := range 40 * teeth {
				at += 60 / 3000.0 / float64(teeth) / n.StepS
				switch {
				case tooth%teeth == 0: // the gap
				case tooth < 7*teeth && (tooth+shift)%13 < 3:
					isNew = true // lost
				default:
					m := pulses.Mark{At: at, Balance: at, Width: 50, Own: 50, Flux: 1, Swing: 1, PeakV: 1, IsNew: isNew}
					if isNew && len(n.Pending) < shortRun {
						n.setAside()
					}
					n.Pending, isNew = append(n.Pending, m), false
				}
			}
			pending := n.Pending
			n.Pending = nil
			for _, m := range n.startWithEarly(pending) {
				n.count(m)
			}
		}
	}
}
