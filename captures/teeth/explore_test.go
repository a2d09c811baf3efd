package teeth

import (
	"fmt"
	"os"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

func show(t testing.TB, name string, g simulate.Rig, o Options) Measurement {
	m, truth := simulated(t, g, o)
	a := compare(g, m, truth)
	a.log(t, name)
	rs := fmt.Sprintf("   wheel %q revs %d signal %s polarity %s unseen %d;", m.Wheel, m.Revolutions, m.Signal, m.Polarity, m.Unseen)
	for i, r := range m.Readings {
		if i < 3 || i == len(m.Readings)-1 {
			rs += fmt.Sprintf("\n      %.1f rpm peak %.4f weak %.4f sd %.4f noise %.4f rms %.5f rate %.0f rec %.3f spike %.3f hump %.4f ripple %.3f n %.0f clip %v", r.RPM, r.PeakV.Value, r.WeakestV.Value, r.PeakSDV.Value, r.NoiseV.Value, r.NoiseRMSV.Value, r.NoiseRateHz.Value, r.NoiseRecordS.Value, r.SpikeV.Value, r.HumpV.Or(-1), r.Ripple.Value, r.TeethMeasured.Value, r.Clipped)
		}
	}
	t.Log(rs)
	for _, f := range m.Findings {
		t.Logf("      %s %s: %s", f.Severity, f.Kind, f.Text)
	}
	return m
}

func TestExplore(t *testing.T) {
	if os.Getenv("EXPLORE") == "" {
		t.Skip()
	}
	for _, text := range []string{"36-1", "60-2", "12-1", "24", "36-2-2-2"} {
		var o Options
		if text == "24" || text == "36-2-2-2" {
			o.Wheel = wheel(t, text)
		}
		for _, rpm := range []float64{200, 1000, 8000} {
			g := rig(t, text)
			g.Speed = simulate.Steady(rpm)
			show(t, fmt.Sprintf("%s %.0f", text, rpm), g, o)
		}
		g := rig(t, text)
		g.Speed = simulate.Pull(800, 7500, 3)
		g.LengthS = 3
		show(t, text+" pull", g, o)
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.05, RateHz: 12000}}
		show(t, text+" pull noise", g, o)
		g = rig(t, text)
		g.Speed = simulate.Steady(200)
		g.LengthS = 3
		g.Ripple = simulate.Ripple{Share: 0.4, AtRPM: 250, Cylinders: 4}
		show(t, text+" cranking ripple", g, o)
		m, truth := simulated(t, g, o)
		_ = m
		peak := 0.0
		for _, x := range truth {
			peak += x.PeakV / float64(len(truth))
		}
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.2 * peak}}
		show(t, text+" cranking white 20%", g, o)
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.2 * peak, RateHz: 12000}}
		g.Sensors[0].Sparks = []simulate.Spark{{AnglesDeg: []float64{30, 210, 390, 570}, HeightV: 3 * peak, AtRPM: 200, RingHz: 9000, DecayS: 1e-4}}
		show(t, text+" cranking 20% sparks", g, o)
		g = rig(t, text)
		g.Speed = simulate.CrankAndStart(200, 2, 900)
		g.LengthS = 5
		g.Ripple = simulate.Ripple{Share: 0.4, AtRPM: 250, Cylinders: 4}
		show(t, text+" start", g, o)
	}
	_ = captures.Crank
}
