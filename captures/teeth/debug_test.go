package teeth

import (
	"fmt"
	"os"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

func TestDebug(t *testing.T) {
	if os.Getenv("DEBUG") == "" {
		t.Skip()
	}
	for _, ws := range []string{"36-1", "60-2", "12-1"} {
		for _, start := range []float64{0, 45, 90, 135} {
			g := rig(t, ws)
			g.Speed = simulate.Steady(200)
			g.LengthS = 3
			g.Sensors[0].AtDeg = start
			g.Ripple = simulate.Ripple{Share: 0.4, AtRPM: 250, Cylinders: 4}
			source, err := simulate.Open(g)
			if err != nil {
				t.Fatal(err)
			}
			r := newRun(source.Info(), Options{Sensor: captures.Crank})
			r.readAll(source)
			in := newIntervals(r.marks)
			line := ""
			for i := 0; i < len(in.samples) && i < 80; i++ {
				if in.pitches[i] > 1.4 || ws == "12-1" && i < 15 {
					line += fmt.Sprintf(" [%.2f %.2f]", in.pitches[i], in.smooth[i])
				}
			}
			t.Log(ws, start, r.numberer.pattern.wheel, line)
		}
	}
}
