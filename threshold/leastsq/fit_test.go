package leastsq

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// logRollOff has residuals in ln y: the offset carries the shape, the column of
// ones the logarithm of the scale.
func logRollOff(n []float64) Model {
	return Model{Columns: 1, Lo: 50, Hi: 1e6, Log: true, At: func(corner float64, offset []float64, columns [][]float64) {
		for i := range n {
			offset[i], columns[0][i] = math.Log(rollOff(n[i], corner)), 1
		}
	}}
}

// geometric is count points from first to last in equal ratios.
func geometric(first, last float64, count int) []float64 {
	x := make([]float64, count)
	for i := range x {
		x[i] = first * math.Pow(last/first, float64(i)/float64(count-1))
	}
	return x
}

// noisyLogs are ln(0.005·f(n, corner)) with Gaussian errors of sd.
func noisyLogs(rng *rand.Rand, n []float64, corner, sd float64, f func(n, theta float64) float64) []float64 {
	y := make([]float64, len(n))
	for i := range n {
		y[i] = math.Log(0.005*f(n[i], corner)) + sd*rng.NormFloat64()
	}
	return y
}

func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0)) }

func TestLogResidualsAgreeWithStraightLine(t *testing.T) {
	// ln y = ln k + b·ln x is linear in both; with b as θ nothing may change.
	x := geometric(200, 7000, 9)
	y := noisyLogs(seeded(1), x, 3000, 0.02, rollOff)
	logs := make([]float64, len(x))
	for i := range x {
		logs[i] = math.Log(x[i])
	}
	linear := mustFit(t, straightLine(logs), y, nil)
	searched := mustFit(t, Model{Columns: 1, Lo: -1, Hi: 3, At: func(b float64, offset []float64, columns [][]float64) {
		for i := range logs {
			offset[i], columns[0][i] = b*logs[i], 1
		}
	}}, y, nil)
	relative(t, "ln k", searched.Linear[0], linear.Linear[0], 1e-11)
	relative(t, "b", searched.Theta, linear.Linear[1], 1e-11)
	relative(t, "SSE", searched.SSE, linear.SSE, 1e-12)
	for i := range linear.Unscaled {
		for j := range linear.Unscaled {
			relative(t, "unscaled covariance", searched.Unscaled[i][j], linear.Unscaled[i][j], 1e-9)
		}
	}
}

func TestRescalingRescales(t *testing.T) {
	rpm := geometric(250, 8000, 10)
	volts := make([]float64, len(rpm))
	rng := seeded(2)
	for i := range volts {
		volts[i] = 0.005 * rollOff(rpm[i], 1800) * (1 + 0.02*rng.NormFloat64())
	}
	m := shaped(rpm, 50, 1e6, rollOff)
	base := mustFit(t, m, volts, nil)
	for _, factor := range []float64{1e-6, 1000} {
		scaled := slices.Clone(volts)
		for i := range scaled {
			scaled[i] *= factor
		}
		r := mustFit(t, m, scaled, nil)
		relative(t, "linear", r.Linear[0], factor*base.Linear[0], 1e-11)
		relative(t, "theta", r.Theta, base.Theta, 1e-11)
		relative(t, "SD", r.SD, factor*base.SD, 1e-12)
		relative(t, "error of theta", r.StandardErrors()[1], base.StandardErrors()[1], 1e-9)
	}
}

func TestOrderChangesNothing(t *testing.T) {
	n := geometric(250, 8000, 12)
	y := noisyLogs(seeded(3), n, 1800, 0.02, rollOff)
	base := mustFit(t, logRollOff(n), y, nil)
	robust, err := FitRobust(logRollOff(n), y, nil, Robust{Loss: Bisquare, Resistant: true})
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(5) {
		order := seeded(seed).Perm(len(n))
		shuffledN, shuffledY := make([]float64, len(n)), make([]float64, len(n))
		for i, k := range order {
			shuffledN[i], shuffledY[i] = n[k], y[k]
		}
		r := mustFit(t, logRollOff(shuffledN), shuffledY, nil)
		relative(t, "linear", r.Linear[0], base.Linear[0], 1e-12)
		relative(t, "theta", r.Theta, base.Theta, 1e-12)
		relative(t, "SSE", r.SSE, base.SSE, 1e-12)
		again, err := FitRobust(logRollOff(shuffledN), shuffledY, nil, Robust{Loss: Bisquare, Resistant: true})
		if err != nil {
			t.Fatal(err)
		}
		relative(t, "robust theta", again.Theta, robust.Theta, 1e-10)
		relative(t, "scale", again.Scale, robust.Scale, 1e-9)
	}
}

func TestDuplicatesAreWeights(t *testing.T) {
	n := geometric(250, 8000, 7)
	y := noisyLogs(seeded(4), n, 1800, 0.02, rollOff)
	once := mustFit(t, logRollOff(n), y, nil)
	twice := mustFit(t, logRollOff(append(n, n...)), append(y, y...), nil)
	weighted := mustFit(t, logRollOff(n), y, []float64{2, 2, 2, 2, 2, 2, 2})
	for _, r := range []Result{twice, weighted} {
		relative(t, "linear", r.Linear[0], once.Linear[0], 1e-12)
		relative(t, "theta", r.Theta, once.Theta, 1e-12)
		relative(t, "SSE", r.SSE, 2*once.SSE, 1e-12)
		for i := range once.Unscaled {
			for j := range once.Unscaled {
				relative(t, "unscaled covariance", r.Unscaled[i][j], once.Unscaled[i][j]/2, 1e-9)
			}
		}
	}
	if once.DF != 5 || twice.DF != 12 || weighted.DF != 5 {
		t.Errorf("DF = %d, %d, %d; want 5, 12, 5", once.DF, twice.DF, weighted.DF)
	}
}

func TestNoWeightIsNoObservation(t *testing.T) {
	n := geometric(250, 8000, 7)
	y := noisyLogs(seeded(5), n, 1800, 0.02, rollOff)
	without := mustFit(t, logRollOff(n[:6]), y[:6], nil)
	// Not even a design that fails there matters.
	n[6], y[6] = 0, 1e200
	r := mustFit(t, logRollOff(n), y, []float64{1, 1, 1, 1, 1, 1, 0})
	if r.Theta != without.Theta || r.SSE != without.SSE || r.DF != without.DF {
		t.Errorf("theta %v, SSE %v, DF %d; want %v, %v, %d", r.Theta, r.SSE, r.DF, without.Theta, without.SSE, without.DF)
	}
}

func TestResidualsBelongToParameters(t *testing.T) {
	r := mustFit(t, shaped(misraX, 1e-6, 1, saturating), misraY, nil)
	sum := 0.0
	for i, x := range misraX {
		want := misraY[i] - r.Linear[0]*saturating(x, r.Theta)
		near(t, "residual", r.Residuals[i], want, 1e-13)
		sum += want * want
	}
	relative(t, "SSE", r.SSE, sum, 1e-12)
}

func TestDeepestValleyIsFound(t *testing.T) {
	// A sine's profile over its frequency has a valley at every few steps.
	x := make([]float64, 40)
	y := make([]float64, 40)
	rng := seeded(6)
	for i := range x {
		x[i] = float64(i) * 0.25
		y[i] = 3*math.Sin(2.3*x[i]) + 0.3*rng.NormFloat64()
	}
	m := Model{Columns: 1, Lo: 0.5, Hi: 6, At: func(frequency float64, _ []float64, columns [][]float64) {
		for i := range x {
			columns[0][i] = math.Sin(frequency * x[i])
		}
	}}
	r := mustFit(t, m, y, nil)
	near(t, "frequency", r.Theta, 2.3, 4*r.StandardErrors()[1])
	for k := range 2000 {
		theta := m.Lo + (m.Hi-m.Lo)*float64(k)/1999
		p, err := Profile(m, y, nil, theta)
		if err != nil {
			t.Fatal(err)
		}
		if p.SSE < r.SSE {
			t.Fatalf("SSE at theta %v is %v, below the fit's %v", theta, p.SSE, r.SSE)
		}
	}
}

func TestFiniteDifferenceErrorsAgreeWithAnalytic(t *testing.T) {
	// y = a(1-exp(-bx)): ∂y/∂a = 1-exp(-bx), ∂y/∂b = a·x·exp(-bx).
	r := mustFit(t, shaped(misraX, 1e-6, 1, saturating), misraY, nil)
	gradient := func(x float64) []float64 {
		return []float64{saturating(x, r.Theta), r.Linear[0] * x * math.Exp(-r.Theta*x)}
	}
	x := []float64{10, 400, 5000}
	for i, p := range r.Predict(shaped(x, 1e-6, 1, saturating), len(x)) {
		g := gradient(x[i])
		want := 0.0
		for j := range g {
			for k := range g {
				want += g[j] * r.Unscaled[j][k] * g[k]
			}
		}
		relative(t, "prediction", p.Value, r.Linear[0]*g[0], 1e-14)
		relative(t, "leverage", p.Leverage, want, 1e-8)
	}
}

func TestLeveragesSumToParameters(t *testing.T) {
	n := geometric(250, 8000, 12)
	r := mustFit(t, logRollOff(n), noisyLogs(seeded(7), n, 1800, 0.02, rollOff), nil)
	sum := 0.0
	for _, p := range r.Predict(logRollOff(n), len(n)) {
		sum += p.Leverage
	}
	near(t, "sum of leverages", sum, 2, 1e-9)
}

func TestAtEdge(t *testing.T) {
	n := geometric(250, 8000, 8)
	proportional := func(n, _ float64) float64 { return n }
	beyond := func(n, corner float64) float64 { return rollOff(n, 10) }
	for _, c := range []struct {
		name  string
		f     func(n, theta float64) float64
		sd    float64
		theta float64
	}{
		{"corner above the range", func(n, _ float64) float64 { return n * math.Pow(n, 0.01) }, 0, 1e6},
		{"corner below the range", beyond, 0, 50},
	} {
		r := mustFit(t, logRollOff(n), noisyLogs(seeded(8), n, 0, c.sd, c.f), nil)
		if !r.AtEdge || r.Theta != c.theta {
			t.Errorf("%s: theta = %v, AtEdge = %v; want %v, true", c.name, r.Theta, r.AtEdge, c.theta)
		}
		if r.Unscaled[1][1] != 0 || r.Unscaled[0][1] != 0 {
			t.Errorf("%s: theta has a variance: %v", c.name, r.Unscaled)
		}
		relative(t, c.name+": variance of the scale", r.Unscaled[0][0], 1.0/8, 1e-12)
	}

	// Exactly proportional: any corner far above fits to rounding, and whichever
	// is taken, nothing may come out that is not finite.
	r := mustFit(t, logRollOff(n), noisyLogs(seeded(9), n, 0, 0, proportional), nil)
	if r.Theta < 1e5 || !finite(r.Unscaled[0][0]) || !finite(r.Unscaled[1][1]) {
		t.Errorf("proportional: theta = %v, unscaled %v", r.Theta, r.Unscaled)
	}
}

func TestThetaWithoutEffect(t *testing.T) {
	m := lineThroughOrigin(counting(1, 5))
	m.Lo, m.Hi = 1, 2
	r := mustFit(t, m, []float64{1, 2, 3, 4, 6}, nil)
	if !r.AtEdge {
		t.Error("a theta without effect has a variance")
	}
	relative(t, "slope", r.Linear[0], 60.0/55, 1e-14)
}

func TestHeldTheta(t *testing.T) {
	m := shaped(misraX, 5e-4, 5e-4, saturating)
	r := mustFit(t, m, misraY, nil)
	if r.Theta != 5e-4 || len(r.Unscaled) != 1 || r.DF != 13 || r.AtEdge {
		t.Errorf("theta %v, %d parameters, DF %d, AtEdge %v; want 0.0005, 1, 13, false", r.Theta, len(r.Unscaled), r.DF, r.AtEdge)
	}
	free := shaped(misraX, 1e-6, 1, saturating)
	p, err := Profile(free, misraY, nil, 5e-4)
	if err != nil {
		t.Fatal(err)
	}
	relative(t, "profile SSE", p.SSE, r.SSE, 1e-13)
	relative(t, "profile linear", p.Linear[0], r.Linear[0], 1e-13)
}

func TestAsManyParametersAsObservations(t *testing.T) {
	r := mustFit(t, straightLine([]float64{1, 3}), []float64{2, 8}, nil)
	near(t, "intercept", r.Linear[0], -1, 1e-13)
	near(t, "slope", r.Linear[1], 3, 1e-13)
	if r.DF != 0 || !math.IsNaN(r.SD) {
		t.Errorf("DF = %d, SD = %v; want 0, NaN", r.DF, r.SD)
	}
	near(t, "unscaled variance of the slope", r.Unscaled[1][1], 0.5, 1e-13)
}

func TestDesignThatFailsInPartOfTheRange(t *testing.T) {
	// Only exponents up to 4 are allowed; DanWood's is 3.86.
	x, y := []float64{1.309, 1.471, 1.490, 1.565, 1.611, 1.680}, []float64{2.138, 3.421, 3.597, 4.340, 4.882, 5.660}
	m := shaped(x, 0.1, 10, func(x, b float64) float64 {
		if b > 4 {
			return math.NaN()
		}
		return math.Pow(x, b)
	})
	r := mustFit(t, m, y, nil)
	relative(t, "exponent", r.Theta, 3.8604055871, 1e-10)
}

func TestThreeColumns(t *testing.T) {
	// A cubic's columns are well apart on -1…1; its coefficients come back.
	x := []float64{-1, -0.8, -0.5, -0.1, 0.2, 0.6, 0.9, 1}
	want := []float64{2, -1, 0.5, 3}
	m := Model{Columns: 4, At: func(_ float64, _ []float64, columns [][]float64) {
		for i := range x {
			for j := range columns {
				columns[j][i] = math.Pow(x[i], float64(j))
			}
		}
	}}
	y := make([]float64, len(x))
	for i := range x {
		for j, c := range want {
			y[i] += c * math.Pow(x[i], float64(j))
		}
	}
	r := mustFit(t, m, y, nil)
	for j := range want {
		relative(t, "coefficient", r.Linear[j], want[j], 1e-13)
	}
}

func TestRefusals(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	line := straightLine([]float64{1, 2, 3})
	good := []float64{1, 2, 4}
	ranged := func(lo, hi float64, log bool) Model {
		m := lineThroughOrigin([]float64{1, 2, 3})
		m.Lo, m.Hi, m.Log = lo, hi, log
		return m
	}
	for _, c := range []struct {
		name       string
		model      Model
		y, weights []float64
		kind       error
	}{
		{"y is NaN", line, []float64{1, nan, 3}, nil, nil},
		{"y is infinite", line, []float64{1, inf, 3}, nil, nil},
		{"weight is NaN", line, good, []float64{1, nan, 1}, nil},
		{"weight is infinite", line, good, []float64{1, inf, 1}, nil},
		{"weight is negative", line, good, []float64{1, -1, 1}, nil},
		{"weights are too few", line, good, []float64{1, 1}, nil},
		{"no observation", line, nil, nil, ErrTooFew},
		{"one observation for two parameters", straightLine([]float64{1}), []float64{1}, nil, ErrTooFew},
		{"all weights 0", line, good, []float64{0, 0, 0}, ErrTooFew},
		{"one weight left", line, good, []float64{0, 1, 0}, ErrTooFew},
		{"column of zeros", lineThroughOrigin([]float64{0, 0, 0}), good, nil, ErrSingular},
		{"equal x", straightLine([]float64{2, 2, 2}), good, nil, ErrSingular},
		{"design is NaN", lineThroughOrigin([]float64{nan, 1, 1}), good, nil, ErrSingular},
		{"design is infinite", lineThroughOrigin([]float64{1, inf, 1}), good, nil, ErrSingular},
		{"design overflows", lineThroughOrigin([]float64{1e200, 1e200, 1e200}), good, nil, ErrSingular},
		{"design is NaN over the whole range", shaped([]float64{1, 2, 3}, 1, 2, func(_, _ float64) float64 { return nan }), good, nil, ErrSingular},
		{"y overflows", line, []float64{1e200, -1e200, 1e200}, nil, ErrSingular},
		{"no design", Model{Columns: 1}, good, nil, nil},
		{"no parameter", Model{At: line.At}, good, nil, nil},
		{"negative columns", Model{Columns: -1, Lo: 0, Hi: 1, At: line.At}, good, nil, nil},
		{"range descends", ranged(2, 1, false), good, nil, nil},
		{"range is NaN", ranged(nan, 1, false), good, nil, nil},
		{"range is infinite", ranged(0, inf, false), good, nil, nil},
		{"logarithm of 0", ranged(0, 1, true), good, nil, nil},
	} {
		_, fit := Fit(c.model, c.y, c.weights)
		_, robust := FitRobust(c.model, c.y, c.weights, Robust{Resistant: true})
		_, possible := Possible(c.model, c.y, c.weights, 1)
		_, profile := Profile(c.model, c.y, c.weights, c.model.Lo)
		for by, err := range map[string]error{"Fit": fit, "FitRobust": robust, "Possible": possible, "Profile": profile} {
			if err == nil {
				t.Errorf("%s: %s gave no error", c.name, by)
			}
			if c.kind != nil && !errors.Is(err, c.kind) {
				t.Errorf("%s: %s: %v; want %v", c.name, by, err, c.kind)
			}
		}
	}
	m := shaped(misraX, 1e-6, 1, saturating)
	for _, theta := range []float64{1e-7, 2, nan} {
		if _, err := Profile(m, misraY, nil, theta); err == nil {
			t.Errorf("Profile at %v gave no error", theta)
		}
	}
	for _, rise := range []float64{-1, nan, inf} {
		if _, err := Possible(m, misraY, nil, rise); err == nil {
			t.Errorf("Possible with rise %v gave no error", rise)
		}
	}
	for _, how := range []Robust{{Loss: 7}, {Tuning: -1}, {Scale: nan}, {MinScale: inf}} {
		if _, err := FitRobust(m, misraY, nil, how); err == nil {
			t.Errorf("FitRobust with %+v gave no error", how)
		}
	}
}

func FuzzFit(f *testing.F) {
	f.Add(uint64(1), 12, 0.02, 1800.0, 1.0, false)
	f.Add(uint64(2), 3, 0.0, 1e6, 1e-3, true)
	f.Add(uint64(3), 5, 1e3, 1.0, 1e9, false)
	f.Add(uint64(4), 2, 1e-12, 60.0, 1e-12, true)
	f.Fuzz(func(t *testing.T, seed uint64, count int, sd, corner, scale float64, logs bool) {
		if count < 0 || count > 40 {
			return
		}
		rng := seeded(seed)
		n, y, weights := make([]float64, count), make([]float64, count), make([]float64, count)
		for i := range n {
			n[i] = math.Round(8000 * rng.Float64())
			y[i] = scale * (rollOff(n[i], corner) + sd*rng.NormFloat64())
			weights[i] = float64(rng.IntN(3))
		}
		m := shaped(n, 50, 1e6, rollOff)
		if logs {
			m = logRollOff(n)
		}
		r, err := Fit(m, y, weights)
		robust, robustErr := FitRobust(m, y, weights, Robust{Loss: Loss(seed % 2), Resistant: seed%3 == 0})
		if (err == nil) != (robustErr == nil) {
			t.Fatalf("plain fit: %v, robust fit: %v", err, robustErr)
		}
		if err != nil {
			return
		}
		if !finite(robust.Theta) || !finite(robust.Linear[0]) || !finite(robust.Scale) {
			t.Fatalf("not a robust fit: %+v", robust)
		}
		if !finite(r.Theta) || !finite(r.SSE) || !finite(r.Linear[0]) || r.Theta < m.Lo || r.Theta > m.Hi {
			t.Fatalf("not a fit: %+v", r)
		}
		for i := range scanSteps + 1 {
			theta := m.axis().theta(m.axis().scanned(i))
			p, err := Profile(m, y, weights, theta)
			if err == nil && p.SSE < r.SSE*(1-1e-9) {
				t.Fatalf("SSE at theta %v is %v, below the fit's %v at %v", theta, p.SSE, r.SSE, r.Theta)
			}
		}
		spans, err := Possible(m, y, weights, r.SSE)
		if err != nil || len(spans) == 0 {
			t.Fatalf("no theta is possible: %v", err)
		}
	})
}
