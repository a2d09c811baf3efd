package replay

import (
	"compress/gzip"
	"encoding/binary"
	"io"
	"math"
	"os"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
	"armcurve/threshold"
)

// arm passes a wave through an input with one threshold and gives its events.
func arm(v []float64, thresholdV, hysteresisV float64, on CountsOn) []event {
	table := threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(thresholdV)}}, threshold.Linear)
	n := newInput(table, newBelieved(Revolution, captures.Wheel{}, 35, 1))
	s := scanner{halfV: hysteresisV / 2, clampV: math.Inf(1)}
	r := Replay{past: past{v: v}}
	var rise func(arch, float64) float64
	if on == Level {
		rise = r.rise
	}
	s.scan(0, v, func(a arch) { n.pass(a, rise) })
	return n.events
}

// A piecewise 36-1 wave of 2 V at 1000 rpm, 100 kHz, two turns: 70 triggers, the
// first two at 0.00083333351 and 0.0025 s; with noise of 0.1 V (numpy 1.24.2,
// default_rng(12345).normal(0, 0.1, 12000), kept under testdata) 118 at 0.1 V, 70
// from 0.3 to 1.9 V and 18 at 2.2 V. Computed with numpy 1.24.2 and scipy 1.10.1.
func TestArmingAgainstScipy(t *testing.T) {
	v := make([]float64, 12000)
	for i := range v {
		turn := float64(1000) / 60 * (float64(i) / 100000)
		if pitch := 36 * (turn - math.Floor(turn)); pitch < 35 {
			v[i] = 2 * math.Sin(2*math.Pi*pitch)
		}
	}
	clean := arm(v, 0.5, 0, Fall)
	if len(clean) != 70 || math.Abs(clean[0].at/1e5-0.00083333351) > 1e-11 || math.Abs(clean[1].at/1e5-0.0025) > 1e-9 {
		t.Errorf("%d triggers, first at %.11f and %.7f s", len(clean), clean[0].at/1e5, clean[1].at/1e5)
	}
	for i, x := range gaussian(t) {
		v[i] += x
	}
	for _, want := range []struct {
		thresholdV float64
		events     int
	}{{0.1, 118}, {0.3, 70}, {0.5, 70}, {1.0, 70}, {1.5, 70}, {1.9, 70}, {2.2, 18}} {
		if got := len(arm(v, want.thresholdV, 0, Fall)); got != want.events {
			t.Errorf("%.1f V: %d triggers, want %d", want.thresholdV, got, want.events)
		}
	}
}

func gaussian(t *testing.T) []float64 {
	t.Helper()
	f, err := os.Open("testdata/noise_sigma_0.1.f64.gz")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	v := make([]float64, len(raw)/8)
	for i := range v {
		v[i] = math.Float64frombits(binary.LittleEndian.Uint64(raw[8*i:]))
	}
	return v
}

// noiseOf is simulated noise of 1 V and so many upward zero crossings per
// sample.
func noiseOf(t *testing.T, crossings, seconds float64, a, toothHz float64) []float64 {
	t.Helper()
	const sampleHz = 100e3
	rig := simulate.Rig{
		Name: "noise", Seed: 5, SampleHz: sampleHz, LengthS: seconds, Speed: simulate.Steady(1000),
		Sensors: []simulate.Sensor{{
			Name: captures.Crank, Wheel: captures.Wheel{Pitches: 1, Positions: []int{0}}, DiameterMM: 100, GapMM: 1,
			Noise: []simulate.Noise{{SigmaV: 1, RateHz: crossings * sampleHz}},
			Tones: []simulate.Tone{{AmplitudeV: a, Hz: toothHz}},
		}},
	}
	if a == 0 {
		rig.Sensors[0].Tones = nil
	}
	source, err := simulate.Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	var v []float64
	var b captures.Block
	for source.Next(&b) == nil {
		v = append(v, b.V[0]...)
	}
	return v
}

// S. O. Rice, Bell Syst. Tech. J. 24 (1945): Gaussian noise passes a level
// f0·exp(−T²/2σ²) times a second. An input arms at most as often, since it has
// to fire in between, and nearly as often where T is high.
func TestFalseArmsAgainstRice(t *testing.T) {
	const crossings, seconds = 0.02, 30
	v := noiseOf(t, crossings, seconds, 0, 0)
	for _, thresholdV := range []float64{0.5, 1, 2, 3, 3.5} {
		want := threshold.RiceRate(thresholdV, 1, crossings*float64(len(v)))
		got := float64(len(arm(v, thresholdV, 0, Fall)))
		t.Logf("%.1f σ: %.0f false arms, Rice %.0f (%.2f)", thresholdV, got, want, got/want)
		if got > want+3*math.Sqrt(want)+0.02*want {
			t.Errorf("%.1f σ: %.0f false arms, want at most %.0f", thresholdV, got, want)
		}
		if thresholdV >= 2 && got < 0.93*want-3*math.Sqrt(want) {
			t.Errorf("%.1f σ: %.0f false arms, want nearly %.0f", thresholdV, got, want)
		}
	}
}

// Chatter: at a noisy slow crossing an input fires early and arms again. Each
// tooth gives the noise some f0·T/(2π·f·A) chances while it passes through the
// threshold, each taken with exp(−(T + h)²/4σ²): an upper bound. One chance less
// is still a bound where there are some, but none where they come to about one.
func TestChatterIsBounded(t *testing.T) {
	const crossings, seconds, toothHz, a = 0.05, 20.0, 150.0, 12.0
	f0 := crossings * 100e3
	v := noiseOf(t, crossings, seconds, a, toothHz)
	for _, hysteresisV := range []float64{0, 0.5} {
		for _, thresholdV := range []float64{2.2, 2.6, 3, 3.5, 4} {
			h := hysteresisV / 2
			chances := f0 * thresholdV / (2 * math.Pi * toothHz * a)
			taken := seconds * toothHz * math.Exp(-(thresholdV+h)*(thresholdV+h)/4)
			counted := float64(len(arm(v, thresholdV, hysteresisV, Fall))) - seconds*toothHz
			t.Logf("T %.1f σ, h %.2f σ: %.0f false, bound %.0f (%.1f times), with a chance less %.0f (%.1f times)", thresholdV, h,
				counted, chances*taken, chances*taken/max(counted, 1), max(0, chances-1)*taken, max(0, chances-1)*taken/max(counted, 1))
			if counted > chances*taken {
				t.Errorf("T %.1f σ, h %.2f σ: %.0f false, bound %.0f", thresholdV, h, counted, chances*taken)
			}
			if less := (chances - 1) * taken; chances > 1.3 && counted > less+3*math.Sqrt(less) {
				t.Errorf("T %.1f σ, h %.2f σ: %.0f false, bound with a chance less %.0f", thresholdV, h, counted, less)
			}
		}
	}
}

// asin(T/A), in electrical degrees: closed form.
func TestThresholdAngle(t *testing.T) {
	const period = 3600
	v := make([]float64, 10*period)
	for i := range v {
		v[i] = math.Sin(2 * math.Pi * float64(i) / period)
	}
	for _, want := range []struct{ ratio, deg float64 }{
		{0.2, 11.53695903}, {0.3, 17.45760312}, {1.0 / 3, 19.47122063}, {0.5, 30}, {0.8, 53.13010235},
	} {
		for k, e := range arm(v, want.ratio, 0, Level) {
			if got := (e.at - float64(k*period)) * 360 / period; math.Abs(got-want.deg) > 1e-4 {
				t.Fatalf("%.3f of the peak: %.6f°, want %.6f°", want.ratio, got, want.deg)
			}
		}
		for k, e := range arm(v, want.ratio, 0, Fall) {
			if got := (e.at - float64(k*period)) * 360 / period; math.Abs(got-180) > 1e-6 {
				t.Fatalf("falls at %.6f°, want 180°", got)
			}
		}
	}
}

// onsemi NCV1124/D (April 2006), worked example of the data sheet: trip points
// I·R_Adj − I·(R1 + R_RS) ± V_HYS, typically 11 µA, 17 kΩ, 15 + 1.5 kΩ and
// 160 mV: it arms above 165.5 mV (printed 166 mV), at worst above 229.35 mV
// (printed 229 mV), and fires as far below the middle.
func TestTripPointsOfADataSheet(t *testing.T) {
	for _, c := range []struct{ adjustA, adjustOhm, inputA, inputOhm, hysteresisV, armsV float64 }{
		{11e-6, 17e3, 11e-6, 16.5e3, 0.160, 0.1655},
		{16e-6, 17.85e3, 15e-6, 15.75e3, 0.180, 0.22935},
	} {
		middleV := c.adjustA*c.adjustOhm - c.inputA*c.inputOhm
		armsV, firesV := middleV+c.hysteresisV, middleV-c.hysteresisV
		if math.Abs(armsV-c.armsV) > 1e-9 {
			t.Fatalf("arms above %.5f V, want %.5f V", armsV, c.armsV)
		}
		for peakV, want := range map[float64]int{0.99 * armsV: 0, 1.01 * armsV: 5} {
			const period = 2000
			v := make([]float64, 5*period)
			for i := range v {
				v[i] = peakV * math.Sin(2*math.Pi*float64(i)/period)
			}
			events := arm(v, armsV, -2*firesV, Fall)
			if len(events) != want {
				t.Errorf("%.4f V: %d events, want %d", peakV, len(events), want)
			}
			for k, e := range events {
				fall := 0.5 + math.Asin(-firesV/peakV)/(2*math.Pi)
				if got := e.at/period - float64(k); math.Abs(got-fall) > 1e-5 {
					t.Errorf("%.4f V: fires at %.6f of the period, want %.6f", peakV, got, fall)
				}
			}
		}
	}
}

// R 4.2.2 binom.test: one-sided 95 % bounds for none of n, and the upper end of
// the two-sided 95 % interval for 4 of 20 and 2 of 58.
func TestWhatACountProves(t *testing.T) {
	for _, want := range []struct {
		hits, n    int64
		confidence float64
		atMost     float64
	}{
		{0, 10, 0.95, 0.2588655509}, {0, 58, 0.95, 0.0503393383}, {0, 300, 0.95, 0.0099360819}, {0, 3000, 0.95, 0.0009980790},
		{4, 20, 0.975, 0.43661400300}, {2, 58, 0.975, 0.11907731088},
	} {
		if got := AtMost(want.hits, want.n, want.confidence); math.Abs(got-want.atMost) > 1e-9 {
			t.Errorf("%d of %d: %.10f, want %.10f", want.hits, want.n, got, want.atMost)
		}
	}
	if AtMost(0, 0, 0.95) != 1 || AtMost(3, 3, 0.95) != 1 {
		t.Error("nothing seen, or all of it, proves nothing")
	}
}

// A resistor and a capacitor: the response to a step that takes one sample, and
// to a sine, in closed form.
func TestFilter(t *testing.T) {
	const stepS, cornerHz = 1e-5, 700.0
	f := newLowPass(cornerHz, stepS)
	f.next(0)
	w := 2 * math.Pi * cornerHz * stepS
	for i := 1; i < 500; i++ {
		got := f.next(1)
		want := 1 - (math.Exp(w)-1)/w*math.Exp(-w*float64(i))
		if math.Abs(got-want) > 1e-12 {
			t.Fatalf("sample %d: %.12f, want %.12f", i, got, want)
		}
	}
	f = newLowPass(cornerHz, stepS)
	top := 0.0
	for i := range 20000 {
		if y := f.next(math.Sin(2 * math.Pi * cornerHz * stepS * float64(i))); i > 10000 {
			top = max(top, y)
		}
	}
	if math.Abs(top-math.Sqrt(0.5)) > 2e-4 {
		t.Errorf("at the corner %.6f, want %.6f", top, math.Sqrt(0.5))
	}
}
