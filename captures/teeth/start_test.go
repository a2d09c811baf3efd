package teeth

import (
	"math"
	"testing"
)

// TestStartFromStandstill: an engine that stands still, begins to turn and slows down at
// each compression speeds up as much from tooth to tooth as a gap makes of an interval,
// and noise before it looks like teeth. Its teeth are numbered right, wherever it begins.
func TestStartFromStandstill(t *testing.T) {
	const hz, begins, noise, starts = 20e3, 0.3, 0.01, 24
	wrong, teeth, unseen := 0, 0, int64(0)
	for start := range starts {
		at := float64(start) / starts // of a turn
		b := bumps{sigma: 0.12 / 12, rpm: 500}
		for _, p := range gapped(12, 1) {
			b.places = append(b.places, p-at)
		}
		speed := func(s, turns float64) float64 {
			dip := math.Cos(4 * math.Pi * (turns + at))
			return 210 * (1 - math.Exp(-max(0, s-begins)/0.25)) * (1 - 0.4*dip)
		}
		m, err := Measure(wave(b.drive(hz, 2, noise, speed), 1/hz, 5000), Options{KeepTeeth: true, Wheel: wheel(t, "12-1")})
		if err != nil {
			t.Fatal(err)
		}
		unseen += m.Unseen
		turns, next := 0.0, 0
		for i := 0; i < 2*hz && next < len(m.ToothList); i++ {
			s := float64(i) / hz
			turns += speed(s, turns) / 60 / hz
			tooth := m.ToothList[next]
			if s < tooth.TimeS {
				continue
			}
			if place := int(math.Round(12 * (turns + at))); tooth.Number > 0 && place > 0 {
				teeth++
				if tooth.Number != place%12+1 {
					wrong++
				}
			}
			next++
		}
	}
	if wrong > 0 || unseen > 0 || teeth < 50*starts {
		t.Errorf("%d of %d teeth have a wrong number, %d are not in the wave", wrong, teeth, unseen)
	}
}
