package threshold

import (
	"math"
	"testing"

	"armcurve/captures"
)

func TestRipple(t *testing.T) {
	o := DefaultOptions()
	r, known := newRipple(nil, o, 0.85)
	if known {
		t.Error("a ripple that nobody measured")
	}
	for rpm, want := range map[float64]float64{
		200: 0.4, 400: 0.4 * math.Pow(0.5, 1.5), 800: 0.4 * math.Pow(0.25, 1.5), 150: 0.4 * math.Sqrt(200.0/150), 50: 0.6, 1e-300: 0.6, 0: 0.6,
	} {
		near(t, "ripple", r.at(rpm), want, 1e-12)
	}

	o.CrankingRipple = captures.Some(0.0)
	r, known = newRipple(nil, o, 0.85)
	if v := r.at(0); !known || v != 0 || r.at(200) != 0 {
		t.Errorf("no ripple is %v at rest", v)
	}

	o.CrankingRipple = captures.Maybe{}
	measured := []captures.Reading{
		{RPM: 250, Ripple: captures.Some(0.2)},
		{RPM: 150, Ripple: captures.Some(0.3)}, // 0.26 at 200 rpm
		{RPM: 900, Ripple: captures.Some(0.5)}, // not cranking
		{RPM: 0, Ripple: captures.Some(0.9)},
	}
	r, known = newRipple(measured, o, 0.85)
	if !known {
		t.Error("a measured ripple is not known")
	}
	near(t, "ripple where measured", r.at(250), 0.2, 1e-12)
	near(t, "ripple", r.atCranking, 0.2*math.Pow(1.25, 1.5), 1e-12)

	// Where nobody measured it, the weakest tooth while cranking shows it.
	weakest := []captures.Reading{{RPM: 200, PeakV: captures.Some(0.5), WeakestV: captures.Some(0.5 * 0.85 * 0.7)}}
	r, known = newRipple(weakest, o, 0.85)
	if !known {
		t.Error("a ripple that the weakest tooth shows is not known")
	}
	near(t, "ripple shown by the weakest tooth", r.atCranking, 0.3, 1e-12)
}

// Between the readings the weakest tooth is the lower bound of the curve, times
// weakest ÷ mean, times what the ripple leaves.
func TestWeakestTooth(t *testing.T) {
	readings := peaks(200, 0.6, 800, 2.4, 2000, 6, 4000, 12, 6000, 18)
	s := mustSensor(t, readings, DefaultOptions())
	for _, rpm := range []float64{300, 700, 3000, 6000} {
		near(t, "assumed", s.WeakestV(rpm), s.Curve.At(rpm).LowV*0.85*(1-s.ripple.at(rpm)), 1e-12)
	}
	readings[2].WeakestV, readings[3].WeakestV = captures.Some(5.4), captures.Some(11.4)
	s = mustSensor(t, readings, DefaultOptions())
	near(t, "the lowest ratio", s.WeakestV(3000), s.Curve.At(3000).LowV*0.9*(1-s.ripple.at(3000)), 1e-12)

	// Measured while cranking: as it is there, scaled beside it, gone at three
	// times cranking.
	readings[0].WeakestV = captures.Some(0.37)
	s = mustSensor(t, readings, DefaultOptions())
	near(t, "at its speed", s.WeakestV(200), 0.37, 1e-12)
	near(t, "beside it", s.WeakestV(150), 0.37*0.75*(1-s.ripple.at(150))/(1-s.ripple.at(200)), 1e-12)
	near(t, "at speed", s.WeakestV(600), s.Curve.At(600).LowV*0.9*(1-s.ripple.at(600)), 1e-12)
	for rpm := 1.0; rpm < 1000; rpm++ {
		if s.WeakestV(rpm) > s.Curve.At(rpm).V {
			t.Fatalf("at %v rpm the weakest tooth is above the mean", rpm)
		}
		if jump := s.WeakestV(rpm+1) / s.WeakestV(rpm); rpm > 100 && math.Abs(jump-1) > 0.03 {
			t.Fatalf("the weakest tooth jumps by %v at %v rpm", jump, rpm)
		}
	}
	if v := s.WeakestV(0); v != 0 {
		t.Errorf("%v V at rest", v)
	}
}

// What a spoilt row says of the weakest tooth is left out with its peak.
func TestWeakestToothOfAnOutlier(t *testing.T) {
	readings := healthy()
	want := mustSensor(t, readings, DefaultOptions()).WeakestV(3000)
	readings[4].PeakV.Value *= 10 // the weakest tooth read rightly: a ratio of 0.093
	near(t, "weakest", mustSensor(t, readings, DefaultOptions()).WeakestV(3000), want, 0.03)
	readings[4].PeakV, readings[4].WeakestV = captures.Some(0.0), captures.Some(0.0)
	near(t, "weakest", mustSensor(t, readings, DefaultOptions()).WeakestV(3000), want, 0.03)
}

// A gross outlier at cranking does not measure cranking.
func TestOutlierAtCranking(t *testing.T) {
	readings := healthy()
	readings[1].PeakV, readings[1].WeakestV = readings[1].PeakV.Times(10), readings[1].WeakestV.Times(10)
	s := mustSensor(t, readings, DefaultOptions())
	if w := s.Window(200); w.Measured || w.PeakV > 1 {
		t.Errorf("window at cranking %+v", w)
	}
	readings[1].PeakV, readings[1].WeakestV = captures.Maybe{}, captures.Some(0.45)
	if w := mustSensor(t, readings, DefaultOptions()).Window(200); !w.Measured {
		t.Error("a weakest tooth without a peak measures cranking too")
	}
}
