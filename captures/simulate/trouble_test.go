package simulate

import (
	"math"
	"testing"

	"armcurve/captures"
)

// stilled is a rig whose sensor gives nothing itself.
func stilled(t *testing.T) Rig {
	rig := testRig(t, "36-1")
	rig.Sensors[0].LinkageVS = 0
	return rig
}

// amplitude is that of a tone in a stretch of samples, and what is left beside
// it, as a standard deviation.
func amplitude(v []float64, cyclesPerSample float64) (tone, rest float64) {
	var s, c, sum float64
	for i, x := range v {
		sin, cos := math.Sincos(2 * math.Pi * cyclesPerSample * float64(i))
		s, c, sum = s+x*sin, c+x*cos, sum+x*x
	}
	n := float64(len(v))
	tone = 2 * math.Hypot(s, c) / n
	return tone, math.Sqrt(math.Max(0, sum/n-tone*tone/2))
}

func TestTones(t *testing.T) {
	for name, tone := range map[string]Tone{
		"fixed":  {AmplitudeV: 0.5, Hz: 1000},
		"locked": {AmplitudeV: 0.25, PerTurn: 60, GrowsFromRPM: 500}, // 1000 Hz and doubled at 1000 rpm
	} {
		rig := stilled(t)
		rig.Sensors[0].Tones = []Tone{tone}
		v, _ := record(t, rig, 8192)
		if got, rest := amplitude(v[0], 1000/rig.SampleHz); math.Abs(got-0.5) > 1e-6 || rest > 1e-6 {
			t.Errorf("%s tone: %.6f V and %.6f V beside it, want 0.5 V and nothing", name, got, rest)
		}
	}
}

// What has a window lasts from its beginning to its end.
func TestWindows(t *testing.T) {
	rig := stilled(t)
	rig.Sensors[0].Noise = []Noise{{SigmaV: 1, Window: Window{UntilS: 0.1}}}
	rig.Sensors[0].Tones = []Tone{{AmplitudeV: 1, Hz: 333, Window: Window{FromS: 0.2, UntilS: 0.3}}}
	v, _ := record(t, rig, 8192)
	sounding := 0
	for i, x := range v[0] {
		atS := float64(i) / rig.SampleHz
		switch on := atS < 0.1 || atS >= 0.2 && atS < 0.3; {
		case !on && x != 0:
			t.Fatalf("at %.5f s: %g V, want nothing", atS, x)
		case on && x != 0:
			sounding++
		}
	}
	if sounding < 19900 {
		t.Errorf("%d samples with something on, want 20000", sounding)
	}
}

// Sparks start at their angles, as high as their speed makes them.
func TestSparks(t *testing.T) {
	rig := stilled(t)
	rig.SampleHz, rig.Speed, rig.LengthS, rig.StartDeg = 400e3, Pull(1000, 7000, 1), 1, 300
	rig.Sensors[0].Sparks = []Spark{{AnglesDeg: []float64{40, 400, 500}, HeightV: 5, AtRPM: 5000, Power: 2, DecayS: 1e-4}}
	v, _ := record(t, rig, 8192)
	motion := newMotion(rig.Speed, Ripple{})
	sparks := 0
	for i := 1; i < len(v[0]); i++ {
		if v[0][i]-v[0][i-1] < 0.05 {
			continue
		}
		turns, turnsPerS := motion.at(float64(i) / rig.SampleHz)
		angle := math.Mod(turns*360+300, 720)
		step := turnsPerS * 360 / rig.SampleHz
		near := func(a float64) bool { return angle >= a && angle <= a+1.01*step }
		if !near(40) && !near(400) && !near(500) {
			t.Fatalf("a spark at %.3f°", angle)
		}
		rpm := 60 * turnsPerS
		if want := 5 * rpm * rpm / 25e6; math.Abs(v[0][i]/want-1) > 0.03 {
			t.Errorf("spark at %.0f rpm: %.4f V, want %.4f V", rpm, v[0][i], want)
		}
		sparks++
	}
	if want := 4000.0 / 60 / 2 * 3; math.Abs(float64(sparks)-want) > 2 {
		t.Errorf("%d sparks in %.1f cycles of three", sparks, want/3)
	}
}

// The scatter of the heights is the jitter.
func TestSparkJitter(t *testing.T) {
	rig := stilled(t)
	rig.SampleHz, rig.LengthS, rig.Speed, rig.StartDeg = 20e3, 12, Steady(6000), 1
	rig.Sensors[0].Sparks = []Spark{{AnglesDeg: []float64{0, 360}, HeightV: 4, AtRPM: 6000, DecayS: 2e-3, Jitter: 0.1}}
	v, _ := record(t, rig, 8192)
	var n, sum, squares float64
	for i := 200; i < len(v[0]); i += 200 { // a turn; the spark is 28 µs old
		n, sum, squares = n+1, sum+v[0][i], squares+v[0][i]*v[0][i]
	}
	mean := sum / n
	sd := math.Sqrt(squares/n - mean*mean)
	if math.Abs(mean-4) > 0.05 || math.Abs(sd-0.4) > 0.04 {
		t.Errorf("heights %.3f ± %.3f V, want 4 ± 0.4 V", mean, sd)
	}
}

// Cross-talk is the stated time times the rate of the other sensor's voltage,
// and so its height goes with the square of the speed.
func TestCrossTalk(t *testing.T) {
	heights := map[float64]float64{}
	for _, rpm := range []float64{1000, 2000} {
		rig := testRig(t, "36-1")
		rig.Speed, rig.SampleHz, rig.LengthS = Steady(rpm), 400e3, 0.1
		rig.Sensors[0].Coil = Coil{}
		quiet := rig.Sensors[0]
		quiet.Name, quiet.LinkageVS, quiet.CrossS = captures.Cam, 0, 20e-6
		rig.Sensors = append(rig.Sensors, quiet)
		v, _ := record(t, rig, 8192)
		for i := 2; i < len(v[0]); i++ {
			if want := 20e-6 * (v[0][i] - v[0][i-1]) * rig.SampleHz; math.Abs(v[1][i]-want) > 1e-9 {
				t.Fatalf("sample %d: %g V, want %g V", i, v[1][i], want)
			}
			heights[rpm] = max(heights[rpm], v[1][i])
		}
	}
	if ratio := heights[2000] / heights[1000]; math.Abs(ratio-4) > 0.02 {
		t.Errorf("twice the speed: %.4f times the cross-talk, want 4", ratio)
	}
}

func TestRecorder(t *testing.T) {
	g := newRecorder(Recorder{OffsetV: 0.5, StepV: 0.25, RangeV: 2}, 1e-5)
	for in, want := range map[float64]float64{0: 0.5, 0.1: 0.5, 0.2: 0.75, 1.4: 2, 9: 2, -9: -2, -0.6: 0} {
		if got := g.record(in); got != want {
			t.Errorf("%g V recorded as %g V, want %g V", in, got, want)
		}
	}
}

// An AC input lets a step decay with its time constant.
func TestACCoupling(t *testing.T) {
	g := newRecorder(Recorder{ACCoupleS: 0.01, OffsetV: 3}, 1e-5)
	last := 0.0
	for range 1000 {
		last = g.record(0)
	}
	if want := 3 * math.Exp(-1); math.Abs(last-want) > 1e-9 {
		t.Errorf("after one time constant %.9f V, want %.9f V", last, want)
	}
}

// A switching sensor has two levels, whatever the speed, and falls at each
// tooth's leading edge.
func TestSquare(t *testing.T) {
	rig := testRig(t, "12-1")
	rig.Speed, rig.LengthS = Pull(300, 3000, 0.5), 0.5
	rig.Sensors[0].SquareV, rig.Sensors[0].ToothMM = 5, rig.Sensors[0].pitchMM()/2
	v, teeth := record(t, rig, 8192)
	between := 0
	for _, x := range v[0] {
		if x > 0.01 && x < 4.99 {
			between++
		}
		if x < -0.5 || x > 5.5 {
			t.Fatalf("level of %g V", x)
		}
	}
	if between > 6*len(teeth) {
		t.Errorf("%d of %d samples are between the levels", between, len(v[0]))
	}
	for i, tooth := range teeth {
		turns, _ := newMotion(rig.Speed, Ripple{}).at(tooth.TimeS)
		want := float64(tooth.Turn) + (float64(tooth.Number)-1.25)/12
		if math.Abs(turns-want) > 1e-3 {
			t.Errorf("tooth %d falls at %.5f turns, want %.5f", i, turns, want)
		}
	}
}

// Noise grows with speed as it says.
func TestNoiseGrowsWithSpeed(t *testing.T) {
	rig := stilled(t)
	rig.Speed = Steady(4000)
	rig.Sensors[0].Noise = []Noise{{SigmaV: 0.1, SigmaPerRPMV: 1e-4, RateHz: 5000}}
	v, _ := record(t, rig, 8192)
	if _, sigma := amplitude(v[0], 0.4); math.Abs(sigma/0.5-1) > 0.04 {
		t.Errorf("sigma %.4f V at 4000 rpm, want 0.5 V", sigma)
	}
}

// A hump in the gap crosses zero at low speed; where the coil rolls it off it no
// longer does.
func TestHump(t *testing.T) {
	for _, speed := range []struct {
		rpm   float64
		extra bool
	}{{300, true}, {9000, false}} {
		rig := testRig(t, "36-1")
		rig.Speed, rig.LengthS, rig.SampleHz = Steady(speed.rpm), 600/speed.rpm, 500e3
		rig.Sensors[0].HumpShare, rig.Sensors[0].GapMM = 0.4, 0.7
		rig.Sensors[0].Coil = Coil{ResistanceOhm: 850, InductanceH: 0.6, LoadOhm: 2000}
		v, teeth := record(t, rig, 8192)
		falls := 0
		for i := 1; i < len(v[0]); i++ {
			if v[0][i-1] > 0 && v[0][i] <= 0 {
				falls++
			}
		}
		if extra := falls-len(teeth) > 5; extra != speed.extra {
			t.Errorf("%g rpm: %d falls for %d teeth in ten turns", speed.rpm, falls, len(teeth))
		}
		for _, tooth := range teeth {
			if tooth.Unseen {
				t.Errorf("%g rpm: tooth %d is unseen", speed.rpm, tooth.Number)
			}
		}
	}
}
