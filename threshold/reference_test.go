package threshold

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/interp"

	"armcurve/captures"
)

// near checks got against want to a relative tolerance.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*math.Abs(want)) {
		t.Errorf("%s is %.10g, want %.10g to %g", what, got, want, tolerance)
	}
}

// peaks are readings of a peak each, from pairs of rpm and volts.
func peaks(pairs ...float64) []captures.Reading {
	var list []captures.Reading
	for i := 0; i < len(pairs); i += 2 {
		list = append(list, captures.Reading{
			Pos: captures.Pos{File: "run.csv", Line: i/2 + 2}, RPM: pairs[i], PeakV: captures.Some(pairs[i+1]),
		})
	}
	return list
}

func mustSensor(t *testing.T, readings []captures.Reading, o Options) *Sensor {
	t.Helper()
	s, err := NewSensor(readings, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func wheel(t *testing.T, text string) captures.Wheel {
	t.Helper()
	w, err := captures.ParseWheel(text)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// Student's t, one-sided: R 4.2.2, qt(p, df).
func TestStudentQuantiles(t *testing.T) {
	for _, row := range []struct{ df, p95, p975, p995, p9995 float64 }{
		{3, 2.353363435, 3.182446305, 5.840909310, 12.923978637},
		{5, 2.015048373, 2.570581836, 4.032142984, 6.868826626},
		{10, 1.812461123, 2.228138852, 3.169272673, 4.586893859},
		{12, 1.782287556, 2.178812830, 3.054539589, 4.317791284},
		{19, 1.729132812, 2.093024054, 2.860934606, 3.883405853},
		{60, 1.670648865, 2.000297822, 2.660283029, 3.460200469},
	} {
		for p, want := range map[float64]float64{0.95: row.p95, 0.975: row.p975, 0.995: row.p995, 0.9995: row.p9995} {
			near(t, "t", quantile(p, row.df), want, 1e-9)
		}
	}
}

// An R-L coil into a resistive load: V = k·ω·RL ÷ √((Rc+RL)² + (ωL)²) with
// k = 1 mV·s, 60 teeth, 1 kΩ, 0.5 H and 4.7 kΩ, to two decimals as a scope
// shows them. Corner (Rc+RL)/L, lag atan(ω ÷ corner) of a pitch; the circuit
// was also run in ngspice 39.3.
func TestCoilIntoLoad(t *testing.T) {
	readings := peaks(250, 1.28, 500, 2.50, 1000, 4.54, 2000, 6.96, 4000, 8.56, 6000, 9.00, 8000, 9.17)
	o := DefaultOptions()
	o.Wheel = wheel(t, "60")
	s := mustSensor(t, readings, o)
	corner, ok := s.Curve.CornerRPM()
	if !ok {
		t.Fatalf("the curve is %s, want a roll-off", s.Curve.Model)
	}
	near(t, "corner", corner, 1814.366351, 2e-3)
	near(t, "volts per rpm", s.Curve.Parameters[0].Value, 0.00518087210, 2e-3)
	near(t, "plateau", corner*s.Curve.Parameters[0].Value, 9.4, 1e-3)
	for rpm, lagDeg := range map[float64]float64{
		250: 0.130755594, 500: 0.256784190, 1000: 0.481027449, 2000: 0.796436894, 4000: 1.093355929, 6000: 1.219582963, 8000: 1.287028679,
	} {
		near(t, "lag", s.LagCrankDeg(rpm).Value, lagDeg, 2e-3)
	}

	o.Shaft = captures.Cam // turns once in two of the engine's
	near(t, "lag on the cam", mustSensor(t, readings, o).LagCrankDeg(1000).Value, 2*0.481027449, 2e-3)
	o.Wheel = captures.Wheel{}
	if lag := mustSensor(t, readings, o).LagCrankDeg(1000); lag.Known {
		t.Error("a lag in degrees without a wheel")
	}
	if lag := mustSensor(t, peaks(200, 0.6, 800, 2.4, 2000, 6, 4000, 12, 6000, 18), o).LagCrankDeg(1000); lag.Known {
		t.Error("a lag without a roll-off")
	}
}

// The least peak volts of a pickup coil under load: 2.8 V cranking, 7.9 V at
// 2000 rpm, 11 V at 3500 rpm; 5.0 V cranking unplugged (Yamaha GP1200R service
// manual, p. 7-13). The manual does not print the cranking speed; 300 rpm here.
func TestPickupCoil(t *testing.T) {
	loaded := peaks(300, 2.8, 2000, 7.9, 3500, 11)
	straight := 7.9 * 3500 / 2000.0
	near(t, "straight line ÷ reading", straight/11, 1.26, 3e-3)
	near(t, "slope in logarithms", math.Log(11/7.9)/math.Log(3500/2000.0), 0.5915, 1e-4)
	c := mustSensor(t, loaded, DefaultOptions()).Curve
	if c.Model == "proportional" {
		t.Error("the curve is a straight line")
	}
	for _, r := range loaded {
		near(t, "curve", c.At(r.RPM).V, r.PeakV.Value, 0.06)
	}

	all := append(loaded, peaks(300, 5.0)...)
	for i := range all {
		all[i].Condition = "connected"
	}
	all[3].Condition, all[3].Pos.Line = "unplugged", 5
	var mixed *MixedConditionsError
	if _, err := SelectCondition(all, ""); !errors.As(err, &mixed) {
		t.Fatalf("loaded and unplugged readings are mixed: %v", err)
	}
	if got, want := mixed.Error(), `run.csv:5: condition is "unplugged", but "connected" at run.csv:2: want peaks of one condition in a curve`; got != want {
		t.Errorf("error is %s\nwant %s", got, want)
	}
	kept, err := SelectCondition(all, "connected")
	if err != nil || len(kept) != 3 {
		t.Errorf("kept %d readings, %v; want the 3 under load", len(kept), err)
	}
}

// SelectCondition tells peaks apart, not noise.
func TestNoiseOfAnyConditionCounts(t *testing.T) {
	readings := peaks(200, 0.6, 900, 2.6)
	readings[0].Condition, readings[0].NoiseV = "unplugged", captures.Some(0.05)
	readings[1].Condition = "connected"
	kept, err := SelectCondition(readings, "connected")
	if err != nil || len(kept) != 2 || kept[0].PeakV.Known || !kept[0].NoiseV.Known {
		t.Errorf("kept %+v, %v; want the noise of the first and the peak of the second", kept, err)
	}
}

// Monotone cubics with the slopes of Fritsch and Butland: scipy 1.10.1
// PchipInterpolator and Octave 7.3.0 pchip, which agree to the digits here, on
// RPN14 (Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246), on the
// third set of Akima (J. ACM 17 (1970) 589-602) and on a table of peaks.
func TestMonotoneCubic(t *testing.T) {
	for _, c := range []struct {
		name  string
		x, y  []float64
		atX   []float64
		wantY []float64
	}{
		{"RPN14", []float64{7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20},
			[]float64{0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994},
			[]float64{8, 8.05, 8.14, 8.3, 8.4, 8.5, 8.9, 9, 9.5, 10.5, 11, 13, 14, 17.5},
			[]float64{2.767433863e-07, 9.956474181e-06, 0.01769716738, 0.07496322316, 0.09666880561, 0.1166325769, 0.2713755846, 0.3375343268, 0.6852179451, 0.969198607, 0.9860433625, 0.9993618221, 0.9997724917, 0.9999761404}},
		{"Akima 3", []float64{0, 2, 3, 5, 6, 8, 9, 11, 12, 14, 15},
			[]float64{10, 10, 10, 10, 10, 10, 10.5, 15, 50, 60, 85},
			[]float64{8.5, 9.5, 10, 10.5, 11.5, 12.5, 13, 13.5, 14.5},
			[]float64{10.15448113, 10.9787346, 11.76955013, 13.0505906, 31.89256198, 53.40340909, 55.13636364, 56.80113636, 69.66666667}},
		{"peaks", []float64{500, 1000, 2000, 4000, 8000}, []float64{0.4, 0.8, 1.5, 2.4, 3.0},
			[]float64{600, 750, 1500, 3000, 5000, 6000, 7000},
			[]float64{0.4828975124, 0.605068408, 1.173856583, 2.030787711, 2.627757353, 2.819117647, 2.950919118}},
	} {
		var cubic interp.FritschButland
		if err := cubic.Fit(c.x, c.y); err != nil {
			t.Fatal(err)
		}
		for i, x := range c.atX {
			near(t, c.name, cubic.Predict(x), c.wantY[i], 1e-9)
		}
	}
}
