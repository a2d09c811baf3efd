package teeth

import "testing"

// TestUnplacedTeeth: an engine that turns by a few teeth, stands still, and is cranked
// from another place: the first teeth cannot be placed on the wheel, and nothing is made
// of them but that they were there.
func TestUnplacedTeeth(t *testing.T) {
	const hz = 50e3
	b := bumps{places: gapped(36, 1), sigma: 0.24 / 36, rpm: 300}
	for _, teeth := range []float64{9.7, 10.7, 11.7} {
		begun := b.samples(hz, teeth/36/5, 0, 0)
		v := append(begun, make([]float64, int(0.4*hz))...)
		v = append(v, b.samples(hz, 2, 0, 0)[int(0.037*hz):]...)
		m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, "36-1"), KeepTeeth: true})
		if err != nil {
			t.Fatal(err)
		}
		if m.ToothList[0].Number != 0 || m.Wheel.String() != "36-1" || m.Unseen > 0 {
			t.Errorf("%g teeth: the first is number %d, wheel %q, %d unseen", teeth, m.ToothList[0].Number, m.Wheel, m.Unseen)
		}
	}
}
