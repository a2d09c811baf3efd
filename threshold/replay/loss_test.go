package replay

import (
	"math"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
	"armcurve/captures/teeth"
	"armcurve/threshold"
)

// TestTeethCutByALoss: what a loss of the wave leaves of the teeth beside it says
// nothing of thresholds, and a tooth of which it leaves nothing is unseen though the
// wave jumps there.
func TestTeethCutByALoss(t *testing.T) {
	const pitch, hz, peakV = 50, 30e3, 2.0 // 1500 rpm of 24 teeth
	w := &recording{info: captures.WaveInfo{StepS: 1 / hz}}
	lost := [2]int{10*24*pitch + 3, 10*24*pitch + 6*pitch - 12}
	for i := range 20 * 24 * pitch {
		v := peakV * math.Sin(2*math.Pi*float64(i)/pitch)
		if i >= lost[0] && i < lost[1] {
			v = 0
		}
		w.v = append(w.v, v)
	}
	for k := range 20*24 - 1 {
		at := float64(k*pitch + pitch/2)
		p := teeth.Passage{Tooth: captures.Tooth{Number: k%24 + 1, RPM: 1500, PeakV: peakV}, Seen: true, At: at}
		switch cut := k - 10*24; {
		case cut == 0:
			p.At = float64(lost[0])
		case cut > 0 && cut < 5:
			p.Seen = false
		case cut == 5:
			p.At = float64(lost[1]) // the wave comes again amid its swing down
		}
		w.passed = append(w.passed, p)
	}
	wheel, err := captures.ParseWheel("24")
	if err != nil {
		t.Fatal(err)
	}
	o := Options{Tables: []threshold.Table{tableOf([]simulate.Row{{RPM: 0, ThresholdV: 1}})}, Wheel: wheel}
	r := w.feed(t, o, 1000)
	result, err := r.Result(0, Facts{Signal: "reluctor"})
	if err != nil {
		t.Fatal(err)
	}
	if v := result.Bands[0].HighestSafeV; len(result.Bands) != 1 || math.Abs(v.Value-peakV) > 0.01 {
		t.Errorf("highest safe threshold %v V, want %g", v, peakV)
	}
	if result.Unseen != 5 || result.Missed != 1 {
		t.Errorf("%d unseen, %d missed; want 5 and the one that is cut", result.Unseen, result.Missed)
	}
}
