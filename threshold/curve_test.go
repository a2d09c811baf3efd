package threshold

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"armcurve/captures"
)

// The slopes that the bounds rest on, against differences.
func TestShapeSlopes(t *testing.T) {
	for _, s := range printable {
		if s.slope == nil {
			continue
		}
		for _, rpm := range []float64{200, 1000, 6000} {
			n := speedAt(rpm)
			theta, step := 1500.0, 1e-5
			along := func(d float64) float64 { return s.lnG(n, theta*math.Exp(d)) }
			if !s.inLn {
				theta = 0.8
				along = func(d float64) float64 { return s.lnG(n, theta+d) }
			}
			near(t, s.name, s.slope(n, theta), (along(step)-along(-step))/(2*step), 1e-6)
		}
	}
}

// Every shape is 1 ÷ rpm … proportional to speed far below its corner, and the
// ones of second order have their corner where they should.
func TestShapesBelowTheirCorner(t *testing.T) {
	for _, s := range possible {
		if s == power || s == stretched {
			continue
		}
		near(t, s.name, s.lnG(speedAt(2), 1e6)-s.lnG(speedAt(1), 1e6), math.Ln2, 1e-5)
	}
	near(t, "roll-off at its corner", math.Exp(rollOff.lnG(speedAt(1500), 1500))/1500, math.Sqrt2/2, 1e-12)
	near(t, "critically damped", math.Exp(damped.lnG(speedAt(1500), 1500))/1500, 0.5, 1e-12)
	near(t, "maximally flat", math.Exp(filtered.lnG(speedAt(1500), 1500))/1500, math.Sqrt2/2, 1e-12)
}

func model(t *testing.T, readings []captures.Reading) string {
	t.Helper()
	return mustSensor(t, readings, DefaultOptions()).Curve.Model
}

// sampled are exact readings of a curve.
func sampled(g func(rpm float64) float64, speeds ...float64) []captures.Reading {
	var pairs []float64
	for _, rpm := range speeds {
		pairs = append(pairs, rpm, g(rpm))
	}
	return peaks(pairs...)
}

func TestPrintedShape(t *testing.T) {
	straight := func(n float64) float64 { return 0.003 * n }
	bent := func(n float64) float64 { return 0.003 * n / math.Hypot(1, n/3000) }
	few, many := []float64{200, 1000, 4000}, []float64{200, 500, 1000, 2000, 3000, 4000, 5000, 6000, 7000}
	within := func(n float64) float64 { return 0.003 * n * (1 + 0.05*math.Sin(n)) }
	peaked := func(n float64) float64 { u := n / 2500; return 0.003 * n / math.Hypot(1-u*u, 0.6*u) }
	wavy := func(n float64) float64 { return bent(n) * (1 + 0.08*math.Sin(1.5*math.Log(n))) }
	for _, c := range []struct {
		name     string
		readings []captures.Reading
		want     []string
	}{
		{"few, straight", sampled(straight, few...), []string{"proportional"}},
		{"few, within twice the scatter", sampled(within, few...), []string{"proportional"}},
		{"few, bent", sampled(bent, few...), []string{"roll-off"}},
		{"many, straight", sampled(straight, many...), []string{"proportional"}},
		{"many, bent", sampled(bent, many...), []string{"roll-off"}},
		{"saturating", sampled(func(n float64) float64 { return -9 * math.Expm1(-n/2500) }, many...), []string{"saturating"}},
		{"rational", sampled(func(n float64) float64 { return 0.003 * n / (1 + n/2500) }, many...), []string{"rational"}},
		{"power", sampled(func(n float64) float64 { return 0.05 * math.Pow(n, 0.6) }, many...), []string{"power"}},
		{"no shape", sampled(wavy, many...), []string{"shape-free"}},
		{"a resonance, six readings", sampled(peaked, 200, 600, 1500, 2500, 3500, 5000), []string{"shape-free"}},
	} {
		if got := model(t, c.readings); !slices.Contains(c.want, got) {
			t.Errorf("%s: %s, want %v", c.name, got, c.want)
		}
	}
}

// A shape-free curve passes through the readings and never leaves the range of
// its neighbours.
func TestShapeFreeCurve(t *testing.T) {
	peaked := func(n float64) float64 { u := n / 2500; return 0.003 * n / math.Hypot(1-u*u, 0.6*u) }
	readings := sampled(peaked, 200, 600, 1500, 2500, 3500, 5000)
	c := mustSensor(t, readings, DefaultOptions()).Curve
	if len(c.Parameters) > 0 {
		t.Errorf("a shape-free curve has parameters %v", c.Parameters)
	}
	for i, r := range readings {
		near(t, "through the reading", c.At(r.RPM).V, r.PeakV.Value, 1e-9)
		if i == 0 {
			continue
		}
		a, b := readings[i-1].PeakV.Value, r.PeakV.Value
		for rpm := readings[i-1].RPM; rpm < r.RPM; rpm += 20 {
			if v := c.At(rpm).V; v < min(a, b)*(1-1e-9) || v > max(a, b)*(1+1e-9) {
				t.Fatalf("%v V at %v rpm, between readings of %v and %v V", v, rpm, a, b)
			}
		}
	}
	// It joins on above without a step.
	near(t, "at the end", c.At(5000.001).V, c.At(5000).V, 1e-4)
}

// The bound is f·exp(−t·s·√(1 + x′Cx)): for readings in proportion to speed
// 1 + 1/n, with s between the scatter found and the one expected.
func TestBoundOfAProportionalCurve(t *testing.T) {
	s := mustSensor(t, sampled(func(n float64) float64 { return 0.003 * n }, 200, 500, 1000, 2000, 4000), DefaultOptions())
	nu := 4.0
	sd := math.Sqrt(10 * 0.03 * 0.03 / (nu + 10))
	e := s.Curve.At(1000)
	near(t, "bound", math.Log(e.V/e.LowV), quantile(0.95, nu+10)*sd*math.Sqrt(1+1.0/5), 1e-9)
	near(t, "upper bound", e.HighV/e.V, e.V/e.LowV, 1e-9)
}

// More confidence and more scatter only widen the bounds.
func TestBoundsWiden(t *testing.T) {
	r := rand.New(rand.NewPCG(33, 34))
	for range *draws {
		sim := families()[r.IntN(len(families()))].simulate(r, 4+r.IntN(8))
		low := DefaultOptions()
		high := low
		if r.IntN(2) == 0 {
			high.Confidence = 0.99
		} else {
			high.ReadingScatter = 0.04
		}
		a, err := NewSensor(sim.readings, low)
		b, err2 := NewSensor(sim.readings, high)
		if err != nil || err2 != nil || a.Curve.Model != b.Curve.Model || len(a.outliers) != len(b.outliers) {
			continue
		}
		for rpm := 100.0; rpm < 2*sim.highRPM; rpm *= 1.1 {
			if x, y := a.Curve.At(rpm), b.Curve.At(rpm); y.LowV > x.LowV*(1+1e-9) || y.HighV < x.HighV*(1-1e-9) {
				t.Fatalf("at %v rpm %+v becomes %+v", rpm, x, y)
			}
		}
	}
}

// Every option that cannot be used is named by its key in the setup file.
func TestOptionsAreChecked(t *testing.T) {
	if err := DefaultOptions().Validate(); err != nil {
		t.Errorf("defaults: %v", err)
	}
	for key, spoil := range map[string]func(o *Options){
		"step_v":              func(o *Options) { o.Input.StepV = 0 },
		"hysteresis_v":        func(o *Options) { o.Input.HysteresisV = -1 },
		"threshold_min_v":     func(o *Options) { o.Input.MinV = captures.Some(-0.1) },
		"threshold_max_v":     func(o *Options) { o.Input.MaxV = captures.Some(0.005) }, // under one step
		"clamp_v":             func(o *Options) { o.Input.ClampV = captures.Some(0.0) },
		"rows":                func(o *Options) { o.Axis.Rows = 3 },
		"at":                  func(o *Options) { o.Axis.AtRPM = []float64{0, 500, 500} },
		"axis_step_rpm":       func(o *Options) { o.Axis.StepRPM = 20000 },
		"signal":              func(o *Options) { o.Signal = 1 },
		"signal_cranking":     func(o *Options) { o.SignalCranking = 0.9 },
		"noise":               func(o *Options) { o.Noise = math.NaN() },
		"preferred_fraction":  func(o *Options) { o.PreferredFraction = 1 },
		"cranking_rpm":        func(o *Options) { o.CrankingLowRPM = 300 },
		"cranking_ripple":     func(o *Options) { o.CrankingRipple = captures.Some(0.7) },
		"limit_rpm":           func(o *Options) { o.LimitRPM = captures.Some(150.0) },
		"weakest_ratio":       func(o *Options) { o.WeakestRatio = 1.1 },
		"gap_hump":            func(o *Options) { o.GapHump = 1 },
		"reading_scatter":     func(o *Options) { o.ReadingScatter = math.Inf(1) },
		"noise_exposure_s":    func(o *Options) { o.NoiseExposureS = 1e300 },
		"cranking_exposure_s": func(o *Options) { o.CrankingExposureS = 0 },
		"noise_rate_hz":       func(o *Options) { o.NoiseRateHz = 0 },
		"noise_reach":         func(o *Options) { o.NoiseReach = 0.5 },
		"confidence":          func(o *Options) { o.Confidence = 1 },
	} {
		o := DefaultOptions()
		spoil(&o)
		var option *OptionError
		if _, err := NewSensor(healthy(), o); !errors.As(err, &option) || option.Key != key {
			t.Errorf("%s: %v", key, err)
		}
	}
}

// Numbers that no file can hold are refused with their place.
func TestUnusableReadings(t *testing.T) {
	for want, spoil := range map[string]func(r *captures.Reading){
		`engine.csv:4: column "peak_v": found -1; want 0, or a number from 1e-09 to 1e+09`:   func(r *captures.Reading) { r.PeakV.Value = -1 },
		`engine.csv:4: column "noise_v": found NaN; want 0, or a number from 1e-09 to 1e+09`: func(r *captures.Reading) { r.NoiseV.Value = math.NaN() },
		`engine.csv:4: column "rpm": found +Inf; want 0, or a number from 1 to 30000`:        func(r *captures.Reading) { r.RPM = math.Inf(1) },
	} {
		readings := healthy()
		spoil(&readings[2])
		if _, err := NewSensor(readings, DefaultOptions()); err == nil || err.Error() != want {
			t.Errorf("%v\nwant %s", err, want)
		}
	}
}
