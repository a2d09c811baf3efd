package teeth

import (
	"math"
	"strings"
	"testing"

	"armcurve/captures/simulate"
	"armcurve/captures/teeth/noise"
)

// truthAt is the true mean peak at a speed, of the teeth not after a gap, by a
// straight line over those within 4 %.
func truthAt(truth []simulate.Tooth, rpm float64) float64 {
	n, sx, sy, sxx, sxy := 0.0, 0.0, 0.0, 1e-9, 0.0
	for _, x := range truth {
		if d := x.RPM/rpm - 1; !x.AfterGap && math.Abs(d) < 0.04 {
			n++
			sx, sy, sxx, sxy = sx+d, sy+x.PeakV, sxx+d*d, sxy+d*x.PeakV
		}
	}
	slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	return (sy - slope*sx) / n
}

// TestPull: the amplitude curve of one pull is right within 2 % at every speed,
// and the noise within 10 % on the mean of those whose record is long enough to
// say.
func TestPull(t *testing.T) {
	for _, text := range usualWheels {
		g := rig(t, text)
		g.Speed = simulate.Pull(500, 7500, 6)
		g.LengthS = 6
		g.SampleHz = 150e3
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.06, RateHz: 9000}}
		m, truth := simulated(t, g, statedIf(t, text))
		if len(m.Readings) < 60 {
			t.Errorf("%s: %d readings", text, len(m.Readings))
		}
		worst, worstNoise := 0.0, 0.0
		noise, records := 0.0, 0.0
		low, high := math.Inf(1), 0.0
		for _, r := range m.Readings {
			low, high = min(low, r.RPM), max(high, r.RPM)
			worst = max(worst, math.Abs(r.PeakV.Value/truthAt(truth, r.RPM)-1))
			if r.NoiseRecordS.Value*r.NoiseRateHz.Value > 300 {
				off := math.Abs(r.NoiseRMSV.Value/0.06 - 1)
				noise, records = noise+r.NoiseRMSV.Value, records+1
				worstNoise = max(worstNoise, off)
			}
		}
		t.Logf("%-9s %3d readings from %.0f to %.0f rpm: peaks within %.2f %%, noise %+.1f %% on the mean, within %.1f %%", text, len(m.Readings), low, high, 100*worst, 100*(noise/records/0.06-1), 100*worstNoise)
		// A record of 300 swings tells a standard deviation to 3 % or so.
		if worst > 0.02 || worstNoise > 0.20 {
			t.Errorf("%s: peaks off by %.2f %%, noise by %.1f %%", text, 100*worst, 100*worstNoise)
		}
		near(t, text+" noise on the mean", noise/records, 0.06, 0.10)
		if low > 900 || high < 7300 {
			t.Errorf("%s: readings only from %.0f to %.0f rpm", text, low, high)
		}
	}
}

// TestSteady: one reading, with rpm, noise, rate and the weakest tooth.
func TestSteady(t *testing.T) {
	for i, text := range usualWheels {
		cases := []struct{ rpm, sigma, rate float64 }{{250, 0.1, 0}, {3000, 0.3, 9000}, {250, 0.05, 9000}, {1500, 0.2, 9000}}
		if !*long {
			cases = []struct{ rpm, sigma, rate float64 }{cases[i%2], cases[2+i%2]}
		}
		for _, c := range cases {
			g := rig(t, text)
			g.Speed = simulate.Steady(c.rpm)
			g.LengthS = min(4, 30*60/c.rpm)
			g.Sensors[0].RunOutMM = 0.05
			g.Sensors[0].Short = []simulate.ShortTooth{{Tooth: 4, MM: 0.3}}
			_, clean := simulated(t, g, statedIf(t, text))
			g.Sensors[0].Noise = []simulate.Noise{{SigmaV: c.sigma, RateHz: c.rate}}
			m, _ := simulated(t, g, statedIf(t, text))
			if len(m.Readings) != 1 {
				t.Errorf("%s at %.0f rpm: %d readings: %s", text, c.rpm, len(m.Readings), m.WheelWhy)
				continue
			}
			r := m.Readings[0]
			weakest := math.Inf(1)
			for _, x := range clean[5 : len(clean)-5] {
				weakest = min(weakest, x.PeakV)
			}
			rate := c.rate
			if rate == 0 {
				rate = g.SampleHz / 4
			}
			near(t, text+" rpm", r.RPM, c.rpm, 0.001)
			near(t, text+" peak", r.PeakV.Value, truthAt(clean, c.rpm), 0.01)
			near(t, text+" noise", r.NoiseRMSV.Value, c.sigma, 0.10)
			near(t, text+" noise rate", r.NoiseRateHz.Value, rate, 0.15)
			near(t, text+" weakest", r.WeakestV.Value, weakest, 0.02)
			if r.NoiseV.Value < 2.5*c.sigma || r.NoiseV.Value > 6*c.sigma {
				t.Errorf("%s: largest noise %g at sigma %g", text, r.NoiseV.Value, c.sigma)
			}
		}
	}
}

func near(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %.6g, want %.6g within %g %%", what, got, want, 100*share)
	}
}

// TestStandstill: a capture in which all is noise.
func TestStandstill(t *testing.T) {
	g := rig(t, "36-1")
	g.Speed = simulate.Steady(0)
	g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.02, RateHz: 12000}}
	g.Sensors[0].Recorder.OffsetV = 1.5
	m, _ := simulated(t, g, Options{NoiseOnly: true})
	if len(m.Readings) != 1 || m.Readings[0].RPM != 0 || m.Readings[0].PeakV.Known {
		t.Fatalf("readings %+v", m.Readings)
	}
	near(t, "noise", m.Readings[0].NoiseRMSV.Value, 0.02, 0.03)
	near(t, "rate", m.Readings[0].NoiseRateHz.Value, 12000, 0.03)
	near(t, "record", m.Readings[0].NoiseRecordS.Value, 1, 0.001)
	if m.Readings[0].ToneV.Known {
		t.Errorf("a tone of %g V in noise", m.Readings[0].ToneV.Value)
	}
	// The same with two tones.
	g.Sensors[0].Tones = []simulate.Tone{{AmplitudeV: 0.05, Hz: 433}, {AmplitudeV: 0.02, Hz: 7100}}
	m, _ = simulated(t, g, Options{NoiseOnly: true})
	near(t, "tones", m.Readings[0].ToneV.Value, 0.07, 0.05)
	near(t, "noise beneath tones", m.Readings[0].NoiseRMSV.Value, 0.02, 0.05)
	near(t, "rate beneath tones", m.Readings[0].NoiseRateHz.Value, 12000, 0.05)
	g.Sensors[0].Tones = nil
	// The same without being told: no teeth, and the reason.
	m, _ = simulated(t, g, Options{})
	if m.Signal != Unknown || m.Teeth != 0 || m.SignalWhy == "" || len(m.Readings) != 0 || !has(m, "not-a-reluctor") {
		t.Errorf("noise taken for a %s with %d teeth: %s", m.Signal, m.Teeth, m.SignalWhy)
	}
}

func has(m Measurement, kind string) bool {
	for _, f := range m.Findings {
		if f.Kind == kind {
			return true
		}
	}
	return false
}

// TestVerdicts: wheel, polarity, signal and findings on captures that have
// something the matter.
func TestVerdicts(t *testing.T) {
	for _, c := range []struct {
		name, wheel, stated        string
		change                     func(*simulate.Rig)
		signal, polarity, found    string
		wantFinding, unwantFinding string
	}{
		{"healthy", "36-1", "36-1", nil, Reluctor, Normal, "36-1", "", "wheel-differs"},
		{"reversed", "36-1", "", func(g *simulate.Rig) { g.Sensors[0].Reversed = true }, Reluctor, Reversed, "36-1", "reversed-polarity", "wheel-differs"},
		{"reversed, stated", "60-2", "60-2", func(g *simulate.Rig) { g.Sensors[0].Reversed = true }, Reluctor, Reversed, "60-2", "reversed-polarity", "wheel-differs"},
		// Ripple of 40 % among twelve teeth hides the wheel.
		{"reversed, cranking", "12-1", "", cranking(true), Reluctor, Reversed, "", "reversed-polarity", "wheel-differs"},
		{"reversed, cranking", "60-2", "", cranking(true), Reluctor, Reversed, "60-2", "reversed-polarity", ""},
		{"cranking", "60-2", "", cranking(false), Reluctor, Normal, "60-2", "", "reversed-polarity"},
		{"slotted", "36-1", "", func(g *simulate.Rig) { g.Sensors[0].Slotted = true }, Reluctor, Reversed, "36-1", "reversed-polarity", ""},
		{"square", "36-1", "36-1", func(g *simulate.Rig) { g.Sensors[0].SquareV = 5 }, Square, Unknown, "36-1", "not-a-reluctor", "wheel-differs"},
		{"square cam", "@0,180,420", "@0,180,420", func(g *simulate.Rig) {
			g.Sensors[0].OnCam, g.LengthS, g.Sensors[0].SquareV, g.Sensors[0].ToothMM = true, 4, 5, 40
		}, Square, Unknown, "@0,180,420", "not-a-reluctor", ""},
		{"square, narrow teeth", "60-2", "60-2", func(g *simulate.Rig) { g.Sensors[0].SquareV, g.Sensors[0].ToothMM = 5, 2.6 }, Square, Unknown, "60-2", "not-a-reluctor", ""},
		{"another wheel", "60-2", "36-1", nil, Reluctor, Normal, "60-2", "wheel-differs", ""},
		{"gap not stated", "36-1", "24", nil, Reluctor, Normal, "36-1", "wheel-differs", ""},
		{"several alike, another stated", "36-2-2-2", "36-2", nil, Reluctor, Normal, "", "wheel-differs", "wheel-unknown"},
		{"several alike", "36-2-2-2", "", nil, Reluctor, Normal, "", "wheel-unknown", "wheel-differs"},
		{"no gap", "24", "", nil, Reluctor, Unknown, "", "wheel-unknown", "wheel-differs"},
		{"no gap, stated one", "24", "36-1", nil, Reluctor, Unknown, "", "wheel-differs", ""},
		{"clipped", "36-1", "", func(g *simulate.Rig) { g.Sensors[0].Recorder = simulate.Recorder{RangeV: 3, StepV: 0.02} }, Reluctor, Normal, "36-1", "clipped", "not-a-reluctor"},
		{"coarse", "36-1", "", func(g *simulate.Rig) { g.SampleHz = 8e3 }, Reluctor, Normal, "36-1", "coarse-sampling", ""},
		{"run-out", "36-1", "", func(g *simulate.Rig) { g.Sensors[0].RunOutMM = 0.3 }, Reluctor, Normal, "36-1", "run-out", "short-tooth"},
		{"short tooth", "36-1", "", func(g *simulate.Rig) { g.Sensors[0].Short = []simulate.ShortTooth{{Tooth: 9, MM: 0.6}} }, Reluctor, Normal, "36-1", "short-tooth", "run-out"},
		{"dropouts", "36-1", "", func(g *simulate.Rig) {
			g.Sensors[0].Dropouts = []simulate.Window{{FromS: 0.3, UntilS: 0.31}, {FromS: 0.6, UntilS: 0.7}}
		}, Reluctor, Normal, "36-1", "dropout", ""},
		{"sparks", "36-1", "", func(g *simulate.Rig) {
			g.Sensors[0].Sparks = []simulate.Spark{{AnglesDeg: []float64{100, 280, 460, 640}, HeightV: 2, AtRPM: 1000, RingHz: 20000, DecayS: 5e-5}}
		}, Reluctor, Normal, "36-1", "spikes", "dropout"},
		{"hump", "60-2", "60-2", func(g *simulate.Rig) { g.Sensors[0].HumpShare = 0.15 }, Reluctor, Normal, "60-2", "", "wheel-differs"},
		{"one-tooth cam", "1", "1", func(g *simulate.Rig) { g.Sensors[0].OnCam, g.LengthS = true, 4 }, Reluctor, Normal, "1", "", ""},
		{"cam by angles", "@0,180,420", "", func(g *simulate.Rig) { g.Sensors[0].OnCam, g.LengthS = true, 4 }, Reluctor, Normal, "@0,180,420", "", ""},
		{"cam swapped", "@0,180,420", "@0,180,420", func(g *simulate.Rig) { g.Sensors[0].OnCam, g.Sensors[0].Reversed, g.LengthS = true, true, 4 }, Reluctor, Reversed, "@0,180,420", "reversed-polarity", ""},
	} {
		g := rig(t, c.wheel)
		if c.change != nil {
			c.change(&g)
		}
		o := Options{OnCam: g.Sensors[0].OnCam}
		if c.stated != "" {
			o.Wheel = wheel(t, c.stated)
		}
		m, _ := simulated(t, g, o)
		name := c.name + " " + c.wheel
		if m.Signal != c.signal || m.Polarity != c.polarity || m.Wheel.String() != c.found {
			t.Errorf("%s: signal %s (%s), polarity %s (%s), wheel %q (%s)", name, m.Signal, m.SignalWhy, m.Polarity, m.PolarityWhy, m.Wheel, m.WheelWhy)
		}
		if c.wantFinding != "" && !has(m, c.wantFinding) || c.unwantFinding != "" && has(m, c.unwantFinding) {
			t.Errorf("%s: findings %v, want %q, not %q", name, m.Findings, c.wantFinding, c.unwantFinding)
		}
		if good := c.signal == Reluctor && c.polarity != Reversed && c.found != ""; good != (len(m.Readings) > 0) {
			t.Errorf("%s: %d readings", name, len(m.Readings))
		}
	}
}

func cranking(reversed bool) func(*simulate.Rig) {
	return func(g *simulate.Rig) {
		g.Speed, g.LengthS = simulate.Steady(200), 3
		g.Ripple = simulate.Ripple{Share: 0.4, AtRPM: 250, Cylinders: 4}
		g.Sensors[0].Reversed = reversed
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.03, RateHz: 9000}}
	}
}

// TestPeakRPM: where the speed ripples, a reading tells how fast the teeth behind its
// peak passed, which is not as fast as all did: those beside three gaps are left out.
func TestPeakRPM(t *testing.T) {
	for _, name := range []string{"12-1", "36-1", "36-2-2-2"} {
		g := rig(t, name)
		cranking(false)(&g)
		m, truth := simulated(t, g, Options{Wheel: wheel(t, name)})
		r, sum, n := m.Readings[0], 0.0, 0.0
		for _, tooth := range truth {
			if !tooth.AfterGap {
				sum, n = sum+tooth.RPM, n+1
			}
		}
		t.Logf("%s: %.1f rpm, %.1f at the teeth", name, r.RPM, r.PeakRPM.Value)
		near(t, name+": speed at the peaks", r.PeakRPM.Value, sum/n, 0.02)
		if r.PeakRPM.Value < 1.02*r.RPM {
			t.Errorf("%s: %.1f rpm at the peaks and %.1f on the whole: the ripple is not in it", name, r.PeakRPM.Value, r.RPM)
		}
	}
	g := rig(t, "36-1")
	g.Speed, g.LengthS = simulate.Steady(2000), 1
	if m, _ := simulated(t, g, Options{}); m.Readings[0].PeakRPM.Known {
		t.Error("the speed at the peaks is told where it does not ripple")
	}
}

// TestAtMost against R 4.2.2 binom.test: none in n one-sided, and the upper end
// of two-sided intervals at half the error.
func TestAtMost(t *testing.T) {
	for _, c := range []struct {
		hits, n          int64
		confidence, want float64
	}{
		{0, 10, 0.95, 0.2588655509}, {0, 58, 0.95, 0.0503393383}, {0, 3000, 0.95, 0.0009980790},
		{0, 30, 0.975, 0.1157033082}, {1, 100, 0.975, 0.054459385392}, {4, 20, 0.975, 0.43661400300}, {2, 58, 0.975, 0.11907731088},
	} {
		near(t, "at most", atMost(c.hits, c.n, c.confidence), c.want, 1e-7)
	}
	if atMost(0, 0, 0.95) != 1 || atMost(3, 3, 0.95) != 1 {
		t.Error("bounds at the ends")
	}
}

// TestQuiet: noise is heard between teeth that stand apart, on wheels where no
// tooth is like the ones beside it.
func TestQuiet(t *testing.T) {
	for _, c := range []struct {
		wheel string
		onCam bool
		rpm   float64
	}{{"@0,180,420", true, 900}, {"1", true, 3000}, {"4-1", false, 2000}, {"@0,180,420", true, 250}} {
		g := rig(t, c.wheel)
		g.Speed, g.LengthS = simulate.Steady(c.rpm), 3
		g.Sensors[0].OnCam, g.Sensors[0].DiameterMM, g.Sensors[0].ToothMM = c.onCam, 60, 6
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.02, RateHz: 9000}}
		m, _ := simulated(t, g, Options{OnCam: c.onCam, Wheel: wheel(t, c.wheel)})
		if len(m.Readings) != 1 {
			t.Errorf("%s: %d readings: %s", c.wheel, len(m.Readings), m.WheelWhy)
			continue
		}
		r := m.Readings[0]
		near(t, c.wheel+" noise", r.NoiseRMSV.Value, 0.02, 0.10)
		near(t, c.wheel+" noise rate", r.NoiseRateHz.Value, 9000, 0.10)
	}
}

// TestStoodBefore: an engine that stands for a second before it is cranked gives
// the noise at standstill too; one that is first seen at speed does not.
func TestStoodBefore(t *testing.T) {
	g := rig(t, "36-1")
	g.LengthS, g.SampleHz = 3, 50e3
	g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.01, RateHz: 9000}}
	g.Speed = simulate.Profile{{AtS: 1, RPM: 0}, {AtS: 1.3, RPM: 200}}
	m, _ := simulated(t, g, Options{})
	if len(m.Readings) < 2 || m.Readings[0].RPM != 0 || m.Readings[0].PeakV.Known {
		t.Fatalf("readings %+v", m.Readings)
	}
	near(t, "noise at standstill", m.Readings[0].NoiseRMSV.Value, 0.01, 0.05)
	g.Speed = simulate.Steady(2000)
	g.Sensors[0].Dropouts = []simulate.Window{{UntilS: 1}}
	if m, _ = simulated(t, g, Options{}); len(m.Readings) == 0 || m.Readings[0].RPM == 0 {
		t.Errorf("readings %+v", m.Readings)
	}
}

// TestLowest: what was seen of a tooth counts where it is more than noise, what
// its speed says where it is not.
func TestLowest(t *testing.T) {
	h := cycleHalf{turns: 40, peaks: 40, byPace: []float64{44, 28, 40}, heights: []float64{44, 32, 40}, leastV: 1}
	levels := []float64{1, 1, 1}
	near(t, "seen clearly", h.lowestV(levels, 0.02*0.02), 0.8, 0.001)
	near(t, "seen in much noise", h.lowestV(levels, 2*2), 0.7, 0.001)
	h.leastV = 0.9
	near(t, "of the slowest turn", h.lowestV(levels, 0), 0.72, 0.001)
}

// TestWeakestBehindSlowCoil: where the wave follows the speed hardly, a fast tooth is
// low for its speed. The weakest is still a slow one.
func TestWeakestBehindSlowCoil(t *testing.T) {
	const teeth, turns, follows = 36, 10, 0.2
	b := newBin(0, teeth)
	for range turns {
		turn := turnSum{teeth: teeth, peakV: 1, ripple: 0.4, variance: 0.0004}
		for j := range teeth {
			pace := 1 + 0.4*math.Cos(4*math.Pi*float64(j)/teeth)
			height := math.Pow(pace, follows)
			turn.pace, turn.relative, turn.level = append(turn.pace, pace), append(turn.relative, height), append(turn.level, height/pace)
		}
		turn.noise = &noise.ByMethod{}
		b.add(&turn)
	}
	near(t, "weakest", weakest([]*bin{b}, 0, make([]bool, teeth)), math.Pow(0.6, follows), 0.01)
}

// TestFiring: an engine that fires doubles its speed within a turn. The turns before are
// no strays, the one between is believed, and what differs between them is no spike.
func TestFiring(t *testing.T) {
	for _, name := range []string{"12-1", "36-1", "60-2"} {
		g := rig(t, name)
		g.Speed, g.LengthS = []simulate.Point{{AtS: 0, RPM: 200}, {AtS: 0.7, RPM: 200}, {AtS: 4, RPM: 5000}}, 4
		g.Ripple = simulate.Ripple{Share: 0.35, AtRPM: 200, Cylinders: 4}
		g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.005, RateHz: 9000}}
		m, _ := simulated(t, g, Options{Wheel: wheel(t, name)})
		for i, r := range m.Readings {
			t.Logf("%s: %.0f rpm %.3f V, spike %.3f V", name, r.RPM, r.PeakV.Value, r.SpikeV.Value)
			if r.SpikeV.Value > spikePeaks*r.PeakV.Value {
				t.Errorf("%s: a spike of %.3f V at %.0f rpm, where teeth are %.3f V", name, r.SpikeV.Value, r.RPM, r.PeakV.Value)
			}
			if i > 0 && !within(r.RPM, m.Readings[i-1].RPM, 2.2) {
				t.Errorf("%s: nothing between %.0f and %.0f rpm", name, m.Readings[i-1].RPM, r.RPM)
			}
		}
		if low := m.Readings[0].RPM; low > 220 {
			t.Errorf("%s: readings begin at %.0f rpm", name, low)
		}
	}
}

// Noise under the instrument's step is a flat wave: its tones would be those of
// rounding, and no reading has them.
func TestFlatNoise(t *testing.T) {
	v := make([]float64, 1<<14)
	for i := range v {
		v[i] = 0.02
	}
	m, err := Measure(wave(v, 1e-5, 1000), Options{NoiseOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range m.Readings {
		if r.ToneV.Value != 0 || r.NoiseV.Value != 0 {
			t.Errorf("noise of a flat wave: %+v", r)
		}
	}
}

// A bound on teeth not seen is a plain number however many there were.
func TestBoundOfTeethUnseenIsPlain(t *testing.T) {
	g := rig(t, "36-1")
	g.Speed = simulate.Steady(6000)
	m, _ := simulated(t, g, Options{})
	if !strings.Contains(m.WheelWhy, "at most 1 in ") || strings.Contains(m.WheelWhy, "e+") {
		t.Error(m.WheelWhy)
	}
}
