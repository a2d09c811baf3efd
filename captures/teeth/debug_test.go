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
	for _, ws := range []string{"36-1", "60-2", "12-1"} {
		g := rig(t, ws)
		g.Sensors[0].Reversed = true
		show(t, ws+" reversed", g, Options{})
		show(t, ws+" reversed stated", g, Options{Wheel: wheel(t, ws)})
		g = rig(t, ws)
		g.Sensors[0].SquareV = 5
		show(t, ws+" square", g, Options{})
		g = rig(t, ws)
		g.Sensors[0].RunOutMM = 0.2
		g.Sensors[0].Short = []simulate.ShortTooth{{Tooth: 5, MM: 0.4}}
		g.Sensors[0].HumpShare = 0.12
		show(t, ws+" runout, short, hump", g, Options{})
		show(t, ws+" stated 60-1", g, Options{Wheel: wheel(t, "60-1")})
		g = rig(t, ws)
		g.Sensors[0].Recorder = simulate.Recorder{RangeV: 8, StepV: 0.05}
		g.Speed = simulate.Pull(800, 7500, 3)
		g.LengthS = 3
		show(t, ws+" clip", g, Options{})
		g.SampleHz = 50e3
		show(t, ws+" coarse", g, Options{})
		g.SampleHz = 200e3
		g.Sensors[0].Dropouts = []simulate.Window{{FromS: 1, UntilS: 1.01}, {FromS: 2, UntilS: 2.1}}
		show(t, ws+" dropouts", g, Options{})
	}
	g := rig(t, "24")
	show(t, "24 unstated", g, Options{})
	show(t, "24 stated 36-1", g, Options{Wheel: wheel(t, "36-1")})
	g = rig(t, "1")
	g.Sensors[0].OnCam = true
	g.LengthS = 5
	show(t, "cam 1", g, Options{Wheel: wheel(t, "1"), OnCam: true})
	g = rig(t, "@0,180,420")
	g.Sensors[0].OnCam = true
	g.LengthS = 5
	show(t, "cam angles", g, Options{Wheel: wheel(t, "@0,180,420"), OnCam: true})
	show(t, "cam angles unstated", g, Options{OnCam: true})
	g = rig(t, "36-1")
	g.Speed = simulate.Profile{{AtS: 0, RPM: 0}}
	g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.05, RateHz: 12000}}
	show(t, "noise", g, Options{})
	show(t, "noise only", g, Options{NoiseOnly: true})
	g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.05}}
	show(t, "white noise", g, Options{})
}
