package teeth

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"armcurve/captures"
)

// switched is the wave of a switch that a wheel turns: high before each tooth for a
// part of a pitch, low else, between two levels.
func switched(places []float64, duty, lowV, highV, noise float64, hz, seconds float64, rpmAt func(s, turns float64) float64) []float64 {
	random := rand.New(rand.NewPCG(9, 10))
	v := make([]float64, int(hz*seconds))
	turns := 0.0
	for i := range v {
		v[i] = lowV
		for _, p := range places {
			if d := p - (turns - math.Floor(turns)); d-math.Floor(d) < duty {
				v[i] = highV
			}
		}
		v[i] += noise * random.NormFloat64()
		turns += rpmAt(float64(i)/hz, turns) / 60 / hz
	}
	return v
}

func steadily(rpm float64) func(_, _ float64) float64 {
	return func(_, _ float64) float64 { return rpm }
}
func pulled(s, _ float64) float64 { return 800 + 5000*s }

// A switch's wave is square whatever its levels, its duty and its noise, also
// where both levels are the ends of the range.
func TestSwitched(t *testing.T) {
	for _, wheel := range [][2]int{{36, 1}, {60, 2}} {
		for _, levels := range [][2]float64{{0, 5}, {-5, 5}, {0.1, 11.8}, {4, 5}} {
			for _, noise := range []float64{0, 0.02} {
				for _, duty := range []float64{0.4, 0.5, 0.7} {
					for name, speed := range map[string]func(_, _ float64) float64{"steady": steadily(3000), "pull": pulled} {
						v := switched(gapped(wheel[0], wheel[1]), duty/float64(wheel[0]), levels[0], levels[1], noise, 100e3, 0.5, speed)
						m, err := Measure(wave(v, 1e-5, 4096), Options{})
						if err != nil {
							t.Fatal(err)
						}
						if m.Signal != Square {
							t.Errorf("%d-%d, %v V, noise %g, duty %g, %s: signal %s: %s", wheel[0], wheel[1], levels, noise, duty, name, m.Signal, m.SignalWhy)
						}
					}
				}
			}
		}
	}
}

// Nor does it matter that noise and gaps mislead what follows teeth, or that there are few
// of these.
func TestSwitchedInNoise(t *testing.T) {
	for _, wheel := range [][2]int{{36, 1}, {12, 1}, {4, 1}, {24, 0}} {
		for _, noise := range []float64{0.05, 0.15, 0.3} {
			for _, duty := range []float64{0.4, 0.6} {
				for _, rpm := range []float64{220, 3000} {
					v := switched(gapped(wheel[0], wheel[1]), duty/float64(wheel[0]), 0.2, 4.8, noise, 50e3, 2, steadily(rpm))
					m, err := Measure(wave(v, 2e-5, 4096), Options{})
					if err != nil {
						t.Fatal(err)
					}
					if m.Signal != Square {
						t.Errorf("%d-%d, noise %g, duty %g, %g rpm: signal %s: %s", wheel[0], wheel[1], noise, duty, rpm, m.Signal, m.SignalWhy)
					}
				}
			}
		}
	}
}

// A reluctor's wave is none, however much of its height the instrument cuts off,
// above, below or on both sides, or how narrow its teeth are.
func TestNoSwitch(t *testing.T) {
	for _, wheel := range [][2]int{{36, 1}, {60, 2}, {24, 0}} {
		for _, width := range []float64{0.08, 0.2} {
			b := bumps{places: gapped(wheel[0], wheel[1]), sigma: width / float64(wheel[0]), rpm: 1000}
			for _, cut := range [][2]float64{{-0.4, 0.4}, {-0.2, 0.2}, {-0.12, 0.12}, {0, 0.3}, {-0.05, 0.3}, {-1, 0.1}} {
				for name, speed := range map[string]func(_, _ float64) float64{"steady": steadily(3000), "pull": pulled} {
					v := b.drive(100e3, 0.5, 0.002, speed)
					for i := range v { // the peaks are 0.6 V at 1000 rpm
						v[i] = max(cut[0], min(cut[1], v[i]/1.8))
					}
					m, err := Measure(wave(v, 1e-5, 4096), Options{})
					if err != nil {
						t.Fatal(err)
					}
					if m.Signal == Square {
						t.Errorf("%s: signal %s: %s", fmt.Sprint(wheel, " ", width, " cut at ", cut, " ", name), m.Signal, m.SignalWhy)
					}
				}
			}
		}
	}
}

// A wave of a few teeth that was taken for the crank's may be the cam's, and is said
// to be so unless the wheel or the cam was stated.
func TestCamForCrank(t *testing.T) {
	for _, c := range []struct {
		Pattern string
		onCam   bool
		options Options
		says    bool
	}{
		{"@0,180,420", true, Options{}, true},
		{"@0,120,500", true, Options{}, true},
		{"4-1", false, Options{}, true},
		{"4-1", false, Options{Wheel: wheel(t, "4-1")}, false},
		{"@0,180,420", true, Options{OnCam: true, Sensor: captures.Cam}, false},
		{"12-1", false, Options{}, false},
		{"36-1", false, Options{}, false},
	} {
		g := rig(t, c.Pattern)
		g.Sensors[0].OnCam, g.LengthS = c.onCam, 4
		m, _ := simulated(t, g, c.options)
		says := false
		for _, f := range m.Findings {
			says = says || strings.Contains(f.Text, "may be the cam's")
		}
		if says != c.says {
			t.Errorf("%s, on the cam %v, %+v: wheel %s, findings %v", c.Pattern, c.onCam, c.options, m.Wheel, m.Findings)
		}
	}
}

// TestAmplitudeNotMeasured: speeds at which no tooth could be measured say nothing of how
// the amplitude goes with speed.
func TestAmplitudeNotMeasured(t *testing.T) {
	var g gatherer
	g.bins.byKey = map[int]*bin{}
	for key, rpm := range map[int]float64{1: 500, 50: 1000, 60: 2000, 70: 4000} {
		g.bins.byKey[key] = &bin{turns: 2, low: rpm, high: rpm, teeth: 20, rpm: 20 * rpm, peakV: 20 * rpm / 1000}
	}
	g.bins.byKey[1].teeth, g.bins.byKey[1].rpm, g.bins.byKey[1].peakV = 0, 0, 0
	if power, low, high := g.slope(); math.Abs(power-1) > 1e-9 || low != 1000 || high != 4000 {
		t.Errorf("amplitude as speed to the power of %.3f from %.0f to %.0f rpm; want 1 from 1000 to 4000", power, low, high)
	}
}
