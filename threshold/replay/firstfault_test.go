package replay

import (
	"cmp"
	"math"
	"testing"

	"armcurve/captures"
)

// TestFirstFaultInAQuickPull: the speed at the first fault is right also before the middle
// of the first turn, and a little before its first tooth; noise before a pull
// that begins in the second turn is at the speed held until then.
func TestFirstFaultInAQuickPull(t *testing.T) {
	const stepS = 1e-5
	for _, c := range []struct {
		name           string
		teeth          int     // in a turn
		startRPM       float64 // 0: 800
		leadS          float64 // before the first tooth
		perS, heldS    float64 // rise of the speed, and when it begins
		faultS, within float64
	}{
		{name: "at once", teeth: 35, perS: 4000, faultS: 0.001, within: 0.02},
		{name: "early in the first turn", teeth: 35, perS: 4000, faultS: 0.02, within: 0.02},
		{name: "late in the first turn", teeth: 35, perS: 4000, faultS: 0.06, within: 0.02},
		{name: "later", teeth: 35, perS: 4000, faultS: 0.3, within: 0.02},
		{name: "few teeth", teeth: 3, perS: 1500, faultS: 0.001, within: 0.03},
		{name: "held for a turn", teeth: 3, perS: 4000, heldS: 0.076, faultS: 0.001, within: 0.03},
		{name: "an engine that starts", teeth: 23, startRPM: 250, perS: 2000, faultS: 0.001, within: 0.03},
		{name: "one that starts at once", teeth: 35, startRPM: 250, perS: 4000, faultS: 0.001, within: 0.03},
		{name: "before its first tooth", teeth: 23, startRPM: 250, perS: 4000, leadS: 0.015, faultS: 0.001, within: 0.03},
		{name: "falling", teeth: 35, perS: -1500, faultS: 0.001, within: 0.02},
		{name: "late in the last turn", teeth: 35, perS: 4000, faultS: 0.495, within: 0.01},
		{name: "late in the last turn, falling", teeth: 35, perS: -1100, faultS: 0.48, within: 0.03},
	} {
		startRPM := cmp.Or(c.startRPM, 800)
		rpmAt := func(s float64) float64 { return startRPM + c.perS*max(0, s-c.heldS) }
		r := &Replay{info: captures.WaveInfo{StepS: stepS}}
		r.past.turn = c.teeth
		x := firstFault{}
		x.meet(&fault{at: c.faultS / stepS, rpm: float32(startRPM)})
		angle := -c.leadS * startRPM / 60 * float64(c.teeth)
		for s := 0.0; s < 0.5; s += 1e-6 {
			if angle += rpmAt(s) / 60 * 1e-6 * float64(c.teeth); angle < float64(len(r.past.teeth)) {
				continue
			}
			r.past.teeth = append(r.past.teeth, passed{at: s / stepS})
			if r.teeth++; s > c.faultS {
				x.pass(r)
			}
		}
		got := x.speed(r)
		if want := rpmAt(c.faultS); !got.Known || math.Abs(got.Value-want) > c.within*want {
			t.Errorf("%s: %v rpm, want %.0f", c.name, got, want)
		}
	}
}
