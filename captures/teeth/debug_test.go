package teeth

import (
	"os"
	"testing"

	"armcurve/captures/simulate"
)

func TestDebug(t *testing.T) {
	if os.Getenv("DEBUG") == "" {
		t.Skip()
	}
	g := rig(t, "60-2")
	g.Speed = simulate.Steady(8000)
	g.LengthS = 0.05
	m, _ := simulated(t, g, Options{})
	t.Log(m.Wheel, m.Unseen)
	for i, f := range m.ToothList {
		if i < 130 {
			t.Logf("   %d %+v", i, f)
		}
	}
}
