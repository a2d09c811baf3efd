package replay

import (
	"testing"

	"armcurve/captures"
)

// TestIntervalOfAWheelSeen: an input that takes its speed from single intervals does so
// whether the wheel is stated or only seen.
func TestIntervalOfAWheelSeen(t *testing.T) {
	w, s := recorded(t, "ignition-spikes")
	o := optionsOf(t, s)
	o.SpeedFrom = Interval
	want := w.feed(t, o, 5000).inputs[0].result.events
	o.Wheel = captures.Wheel{}
	got := w.feed(t, o, 5000).inputs[0].result.events
	if len(got) != len(want) || len(want) == 0 {
		t.Fatalf("%d faults, want %d", len(got), len(want))
	}
	for i := range got {
		if got[i].TimeS != want[i].TimeS || got[i].ThresholdV != want[i].ThresholdV {
			t.Fatalf("fault %d is %+v, want %+v", i, got[i], want[i])
		}
	}
}

// TestLayOut: a turn of an accelerating wheel shows where its teeth are missing, and
// that teeth at uneven angles are no whole pitches apart.
func TestLayOut(t *testing.T) {
	turn := func(pitches ...float64) (teeth []tooth) {
		at, rpm := 0.0, 1000.0
		for k := 0; ; k++ {
			teeth = append(teeth, tooth{Tooth: captures.Tooth{RPM: rpm}, at: at})
			if k == len(pitches) {
				return teeth
			}
			after := rpm * (1 + 0.02*pitches[k])
			at += pitches[k] / (rpm + after)
			rpm = after
		}
	}
	w := layOut(turn(1, 3, 3, 1, 1, 1, 1, 1, 3))
	if w.Pitches != 15 || len(w.Missing) != 3 || w.Missing[0] != 2 || len(w.Positions) != 9 || w.Positions[2] != 4 {
		t.Errorf("%+v", w)
	}
	if w := layOut(turn(1, 1, 1, 1.5, 1)); w.Known() {
		t.Errorf("%+v, want none", w)
	}
}
