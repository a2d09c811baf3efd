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
	_, result := w.playOn24(t, simulate.Row{RPM: 0, ThresholdV: 1})
	if v := result.Bands[0].HighestSafeV; len(result.Bands) != 1 || math.Abs(v.Value-peakV) > 0.01 {
		t.Errorf("highest safe threshold %v V, want %g", v, peakV)
	}
	if result.Unseen != 5 || result.Missed != 1 {
		t.Errorf("%d unseen, %d missed; want 5 and the one that is cut", result.Unseen, result.Missed)
	}
}

// TestBridgedLoss: over a loss that the reader of the wave bridged, all teeth seeming to be
// there, a tooth that it leaves the foot of is none of the safe interval, and the others
// are unseen; in the first turn as well, where no tooth's usual height is known.
func TestBridgedLoss(t *testing.T) {
	const turn, pitch, peakV = 24, 50, 2.0
	for _, first := range []int{5, 10*turn + 5} {
		w := &recording{info: captures.WaveInfo{StepS: 1 / 30e3}} // 1500 rpm
		lost := [2]int{first*pitch + 4, (first+5)*pitch - 4}
		for i := range 20 * turn * pitch {
			v := peakV * math.Sin(2*math.Pi*float64(i)/pitch)
			if i >= lost[0] && i < lost[1] {
				v = 0.01 * float64(1-i%3)
			}
			w.v = append(w.v, v)
		}
		for k := range 20*turn - 1 {
			w.passed = append(w.passed, teeth.Passage{
				Tooth: captures.Tooth{Number: k%turn + 1, RPM: 1500, PeakV: peakV}, Seen: true, At: float64(k*pitch + pitch/2),
			})
		}
		_, result := w.playOn24(t, simulate.Row{RPM: 0, ThresholdV: 1})
		if v := result.Bands[0].HighestSafeV; math.Abs(v.Value-peakV) > 0.01 {
			t.Errorf("lost from tooth %d on: highest safe threshold %v V, want %g", first, v, peakV)
		}
		if result.Unseen != 4 || result.Missed != 1 {
			t.Errorf("lost from tooth %d on: %d unseen, %d missed; want 4 and the one that is cut", first, result.Unseen, result.Missed)
		}
	}
}

// TestCutTopsAreThere: a tooth whose top is cut off, so that the wave stands still over
// half a pitch and more, is missed and not absent.
func TestCutTopsAreThere(t *testing.T) {
	const turn, pitch, railV, swingV, aboveV = 24, 50, 0.5, 3.0, 1.5
	w := &recording{info: captures.WaveInfo{StepS: 1 / 30e3}} // 1500 rpm
	for i := range 20 * turn * pitch {
		v := aboveV + swingV*math.Sin(2*math.Pi*(float64(i)+0.5)/pitch)
		w.v = append(w.v, max(-railV, min(railV, v)))
	}
	fall := pitch/2 - 0.5 + math.Asin(aboveV/swingV)/(2*math.Pi)*pitch
	for k := range 20*turn - 1 {
		w.passed = append(w.passed, teeth.Passage{
			Tooth: captures.Tooth{Number: k%turn + 1, RPM: 1500, PeakV: railV}, Seen: true, At: float64(k*pitch) + fall,
		})
	}
	_, result := w.playOn24(t, simulate.Row{RPM: 0, ThresholdV: 0.2}, simulate.Row{RPM: 1000, ThresholdV: 0.6})
	if result.Unseen != 0 || result.Missed < 18*turn {
		t.Errorf("%d unseen, %d missed; want none and most of %d", result.Unseen, result.Missed, result.Expected)
	}
}

// TestHiddenTeethAreNotSafe: a tooth that something hides, so that it was not seen, is
// missed by any threshold above what is left of it.
func TestHiddenTeethAreNotSafe(t *testing.T) {
	const turn, pitch, peakV, leftV, hidden = 24, 50, 2.0, 0.7, 15*24 + 6
	w := &recording{info: captures.WaveInfo{StepS: 1 / 30e3}} // 1500 rpm
	for i := range 20 * turn * pitch {
		v := peakV * math.Sin(2*math.Pi*float64(i)/pitch)
		if i/pitch == hidden && v > 0 {
			v *= leftV / peakV
		}
		w.v = append(w.v, v)
	}
	for k := range 20*turn - 1 {
		w.passed = append(w.passed, teeth.Passage{
			Tooth: captures.Tooth{Number: k%turn + 1, RPM: 1500, PeakV: peakV}, Seen: k != hidden, At: float64(k*pitch + pitch/2),
		})
	}
	r, result := w.playOn24(t, simulate.Row{RPM: 0, ThresholdV: 1})
	if v := result.Bands[0].HighestSafeV; result.Missed != 1 || math.Abs(v.Value-leftV) > 0.01 {
		t.Errorf("%d missed, highest safe threshold %v V; want 1 and %g", result.Missed, v, leftV)
	}
	if missed, _, _ := r.Would(r.o.Tables[0]); missed != 1 {
		t.Errorf("the table would have missed %d, want 1", missed)
	}
}

// TestFewTeethLost: two teeth that the wave lost are few faults, but show what made them.
func TestFewTeethLost(t *testing.T) {
	const turn, pitch, peakV = 12, 50, 2.0
	w := &recording{info: captures.WaveInfo{StepS: 1 / 10e3}} // 1000 rpm
	lost := [2]int{10*turn*pitch - pitch/4, 10*turn*pitch + 2*pitch - pitch/4}
	for i := range 20 * turn * pitch {
		v := peakV * math.Sin(2*math.Pi*float64(i)/pitch)
		if i >= lost[0] && i < lost[1] {
			v = 0
		}
		w.v = append(w.v, v)
	}
	for k := range 20*turn - 1 {
		at := k*pitch + pitch/2
		w.passed = append(w.passed, teeth.Passage{
			Tooth: captures.Tooth{Number: k%turn + 1, RPM: 1000, PeakV: peakV}, Seen: at < lost[0] || at >= lost[1], At: float64(at),
		})
	}
	wheel, err := captures.ParseWheel("12")
	if err != nil {
		t.Fatal(err)
	}
	r := w.feed(t, Options{Tables: []threshold.Table{tableOf([]simulate.Row{{RPM: 0, ThresholdV: 1}})}, Wheel: wheel}, 1000)
	result, err := r.Result(0, Facts{Signal: "reluctor"})
	if err != nil {
		t.Fatal(err)
	}
	if result.Unseen != 2 || len(result.Causes) != 1 || result.Causes[0].Kind != Dropout || result.Causes[0].Share != 1 {
		t.Errorf("%d unseen, causes %+v; want 2 and a dropout", result.Unseen, result.Causes)
	}
}

// TestTeethBehindTheLastLoss: what comes between a loss and the end of the wave, too
// short for teeth to be found in, is not held against a table; what is no tooth is.
func TestTeethBehindTheLastLoss(t *testing.T) {
	const turn, pitch, peakV = 12, 50, 2.0
	for _, c := range []struct {
		endV float64
		want int64
	}{{peakV, 0}, {0.4 * peakV, 3}} {
		w := &recording{info: captures.WaveInfo{StepS: 1 / 10e3}} // 1000 rpm
		lost := [2]int{10 * turn * pitch, 12 * turn * pitch}
		for i := range lost[1] + 3*pitch {
			v := peakV * math.Sin(2*math.Pi*float64(i)/pitch)
			switch {
			case i >= lost[1]:
				v *= c.endV / peakV
			case i >= lost[0]:
				v = 0
			}
			w.v = append(w.v, v)
		}
		for k := range 10 * turn {
			w.passed = append(w.passed, teeth.Passage{
				Tooth: captures.Tooth{Number: k%turn + 1, RPM: 1000, PeakV: peakV}, Seen: true, At: float64(k*pitch + pitch/2),
			})
		}
		wheel, err := captures.ParseWheel("12")
		if err != nil {
			t.Fatal(err)
		}
		r := w.feed(t, Options{Tables: []threshold.Table{tableOf([]simulate.Row{{RPM: 0, ThresholdV: 0.5}})}, Wheel: wheel}, 1000)
		result, err := r.Result(0, Facts{Signal: "reluctor"})
		if err != nil {
			t.Fatal(err)
		}
		if result.False != c.want {
			t.Errorf("%d false events of pulses of %g V behind the last loss, want %d", result.False, c.endV, c.want)
		}
	}
}

// TestCoarseIsNoLoss: where a pitch has few samples, the wave seems to stand still
// before a tooth; that is no loss, and the tooth no unseen one.
func TestCoarseIsNoLoss(t *testing.T) {
	table := threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(3)}}, threshold.Linear)
	for _, pitch := range []float64{2.4, 3.5, 8} {
		r, err := New(captures.WaveInfo{StepS: 1e-4}, Options{Tables: []threshold.Table{table}})
		if err != nil {
			t.Fatal(err)
		}
		const first, length = 5.3, 3000
		v := make([]float64, length)
		for i := range v {
			v[i] = 2 * math.Sin(-2*math.Pi*(float64(i)-first)/pitch)
		}
		r.Wave(0, v)
		for at, k := first, 0; at < length-20; at, k = at+pitch, k+1 {
			r.Tooth(captures.Tooth{Number: k%12 + 1, RPM: 1000}, true, at, 0)
		}
		r.End()
		if c := r.inputs[0].result.Counts; c.Unseen > 0 || c.Missed < r.teeth-1 {
			t.Errorf("pitch of %g samples: %d teeth, %+v", pitch, r.teeth, c)
		}
	}
}

// playOn24 replays a recording of a wheel of 24 teeth with one table.
func (w *recording) playOn24(t *testing.T, rows ...simulate.Row) (*Replay, Result) {
	t.Helper()
	wheel, err := captures.ParseWheel("24")
	if err != nil {
		t.Fatal(err)
	}
	r := w.feed(t, Options{Tables: []threshold.Table{tableOf(rows)}, Wheel: wheel}, 1000)
	result, err := r.Result(0, Facts{Signal: "reluctor"})
	if err != nil {
		t.Fatal(err)
	}
	return r, result
}
