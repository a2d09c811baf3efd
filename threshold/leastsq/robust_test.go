package leastsq

import (
	"math"
	"testing"
)

var (
	phonesYear  = counting(50, 24)
	phonesCalls = []float64{4.4, 4.7, 4.7, 5.9, 6.6, 7.3, 8.1, 8.8, 10.6, 12.0, 13.5, 14.9, 16.1, 21.2, 119, 124, 142, 159, 182, 212, 43, 24, 27, 29}
)

func mustFitRobust(t *testing.T, m Model, y []float64, how Robust) RobustResult {
	t.Helper()
	r, err := FitRobust(m, y, nil, how)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Converged {
		t.Error("not converged")
	}
	return r
}

func location(n int) Model {
	return Model{Columns: 1, At: func(_ float64, _ []float64, columns [][]float64) {
		for i := range n {
			columns[0][i] = 1
		}
	}}
}

func TestRobustReferences(t *testing.T) {
	// Data sets phones, abbey and chem of Venables and Ripley, "Modern Applied
	// Statistics with S", in R's package MASS. phones: R 4.2.2 MASS::rlm from the
	// least-squares start, with maxit = 1000, acc = 1e-12.
	huber := mustFitRobust(t, straightLine(phonesYear), phonesCalls, Robust{Loss: Huber})
	relative(t, "phones, Huber, intercept", huber.Linear[0], -102.529638119, 1e-11)
	relative(t, "phones, Huber, slope", huber.Linear[1], 2.039600466, 2e-10)
	relative(t, "phones, Huber, scale", huber.Scale, 9.009028306, 1e-10)
	// Standard errors only as rlm's default stopping rule left them, with a scale
	// of 9.03168: in units of the scale they agree.
	errs := huber.StandardErrors()
	relative(t, "phones, Huber, error of the intercept", errs[0]/huber.Scale, 26.6082/9.03168, 3e-4)
	relative(t, "phones, Huber, error of the slope", errs[1]/huber.Scale, 0.429939/9.03168, 3e-4)

	// Bisquare by rlm's default stopping rule, a change of the residuals under
	// 1e-4, which here leaves the sixth digit.
	bisquare := mustFitRobust(t, straightLine(phonesYear), phonesCalls, Robust{Loss: Bisquare})
	relative(t, "phones, bisquare, intercept", bisquare.Linear[0], -52.302456151, 2e-6)
	relative(t, "phones, bisquare, slope", bisquare.Linear[1], 1.098041005, 6e-6)

	// abbey and chem: MASS::huber, k = 1.5, scale fixed at the median absolute
	// deviation from the median; it stops at a change of 1e-6 scales.
	abbey := []float64{5.2, 6.5, 6.9, 7.0, 7.0, 7.0, 7.4, 8.0, 8.0, 8.0, 8.0, 8.5, 9.0, 9.0, 10, 11, 11, 12, 12, 13.7, 14, 14, 14, 16, 17, 17, 18, 24, 28, 34, 125}
	chem := []float64{2.90, 3.10, 3.40, 3.40, 3.70, 3.70, 2.80, 2.50, 2.40, 2.40, 2.70, 2.20, 5.28, 3.37, 3.03, 3.03, 28.95, 3.77, 3.40, 2.20, 3.50, 3.60, 3.70, 3.70}
	for _, c := range []struct {
		name        string
		y           []float64
		scale, want float64
	}{{"abbey", abbey, 4.4478, 11.55136004}, {"chem", chem, 0.526323, 3.20672413}} {
		r := mustFitRobust(t, location(len(c.y)), c.y, Robust{Loss: Huber, Tuning: 1.5, Scale: c.scale})
		near(t, c.name, r.Linear[0], c.want, 1e-6*c.scale)
		relative(t, c.name+" in closed form", r.Linear[0], winsorizedMean(c.y, r.Linear[0], 1.5*c.scale), 1e-12)
	}
}

// winsorizedMean is what Huber's location must be once it is known which values
// lie within reach of it: those beyond count as if they lay at reach.
func winsorizedMean(y []float64, about, reach float64) float64 {
	sum, within := 0.0, 0.0
	for _, v := range y {
		switch {
		case v > about+reach:
			sum += reach
		case v < about-reach:
			sum -= reach
		default:
			sum += v
			within++
		}
	}
	return sum / within
}

func TestRobustSolvesItsEquations(t *testing.T) {
	// At the solution Σ ψ(r/s)·∂fit/∂parameter = 0 for every parameter.
	n := geometric(250, 8000, 12)
	y := noisyLogs(seeded(1), n, 1800, 0.03, rollOff)
	y[3] += 0.5
	for _, how := range []Robust{{Loss: Huber}, {Loss: Bisquare}, {Loss: Bisquare, Resistant: true}} {
		r := mustFitRobust(t, logRollOff(n), y, how)
		var forScale, forTheta float64
		for i := range n {
			weight, _ := how.weight(r.Residuals[i] / r.Scale)
			psi := weight * r.Residuals[i] / r.Scale
			forScale += psi
			q := n[i] / r.Theta
			forTheta += psi * q * q / (1 + q*q) // ∂ln f/∂ln θ
			near(t, "weight", r.Weights[i], weight, 1e-8)
		}
		near(t, "equation of the scale", forScale, 0, 1e-9)
		near(t, "equation of theta", forTheta, 0, 1e-9)
		sizes := make([]float64, len(n))
		for i, v := range r.Residuals {
			sizes[i] = math.Abs(v)
		}
		relative(t, "scale", r.Scale, median(sizes)/0.6745, 1e-9)
	}
}

func TestRobustWithoutOutliersIsLeastSquares(t *testing.T) {
	n := geometric(250, 8000, 12)
	y := noisyLogs(seeded(2), n, 1800, 0.02, rollOff)
	plain := mustFit(t, logRollOff(n), y, nil)
	r := mustFitRobust(t, logRollOff(n), y, Robust{Loss: Huber, Scale: 1})
	relative(t, "theta", r.Theta, plain.Theta, 1e-11)
	relative(t, "SSE", r.SSE, plain.SSE, 1e-12)
	relative(t, "SD", r.SD, plain.SD, 1e-12)
	for i, w := range r.Weights {
		if w != 1 {
			t.Errorf("weight %d is %v, want 1", i, w)
		}
	}
}

func TestRobustRescales(t *testing.T) {
	scaled := make([]float64, len(phonesCalls))
	for i, v := range phonesCalls {
		scaled[i] = 1000 * v
	}
	for _, how := range []Robust{{Loss: Huber}, {Loss: Bisquare, Resistant: true}} {
		base := mustFitRobust(t, straightLine(phonesYear), phonesCalls, how)
		r := mustFitRobust(t, straightLine(phonesYear), scaled, how)
		relative(t, "slope", r.Linear[1], 1000*base.Linear[1], 1e-10)
		relative(t, "scale", r.Scale, 1000*base.Scale, 1e-10)
		relative(t, "SD", r.SD, 1000*base.SD, 1e-9)
	}
}

func TestExactDataButOne(t *testing.T) {
	n := geometric(250, 8000, 6)
	y := noisyLogs(seeded(3), n, 1800, 0, rollOff)
	y[5] += math.Log(10)
	r, err := FitRobust(logRollOff(n), y, nil, Robust{Loss: Bisquare, Resistant: true})
	if err != nil {
		t.Fatal(err)
	}
	relative(t, "corner", r.Theta, 1800, 1e-9)
	if r.Weights[5] != 0 {
		t.Errorf("the outlier has weight %v", r.Weights[5])
	}
}

func TestAllZero(t *testing.T) {
	r := mustFitRobust(t, lineThroughOrigin(counting(1, 4)), make([]float64, 4), Robust{})
	if r.Linear[0] != 0 || r.SSE != 0 || r.SD != 0 {
		t.Errorf("fit of zeros: %+v", r)
	}
}

func TestOneGrossOutlierMovesNothing(t *testing.T) {
	// One reading of six or more is off by a factor of 2 or 10, up or down,
	// anywhere, the ends included. The curve must stay within three times the
	// scatter of the one fitted before the error was made. A few draws may fail:
	// with six readings, two parameters and one error, five can agree by chance
	// on another curve.
	const scatter, draws = 0.02, 150
	shapes := []func(n, theta float64) float64{rollOff, saturatingAt, func(n, c float64) float64 { return n / (1 + n/c) }}
	rng := seeded(4)
	moved := 0
	for draw := range draws {
		f := shapes[draw%len(shapes)]
		n := geometric(300, 6000, 6+draw%7)
		y := noisyLogs(rng, n, 1000*math.Pow(8, rng.Float64()), scatter, f)
		m := logRollOff(n)
		m.At = func(theta float64, offset []float64, columns [][]float64) {
			for i := range n {
				offset[i], columns[0][i] = math.Log(f(n[i], theta)), 1
			}
		}
		before := mustFit(t, m, y, nil)
		y[rng.IntN(len(n))] += math.Log([]float64{0.1, 0.5, 2, 10}[rng.IntN(4)])
		r := mustFitRobust(t, m, y, Robust{Loss: Bisquare, MinScale: 0.03, Resistant: true})
		was, is := before.Predict(m, len(n)), r.Predict(m, len(n))
		for i := range n {
			if math.Abs(is[i].Value-was[i].Value) > 3*scatter {
				moved++
				break
			}
		}
	}
	t.Logf("curve moved in %d of %d draws", moved, draws)
	if moved > 4 {
		t.Errorf("curve moved in %d of %d draws, want at most 4", moved, draws)
	}
}

func TestTooSmallScaleLeavesTheLastFit(t *testing.T) {
	plain := mustFit(t, straightLine(phonesYear), phonesCalls, nil)
	r, err := FitRobust(straightLine(phonesYear), phonesCalls, nil, Robust{Loss: Bisquare, Scale: 1e-6})
	if err != nil {
		t.Fatal(err)
	}
	if r.Converged {
		t.Error("converged without observations")
	}
	relative(t, "slope", r.Linear[1], plain.Linear[1], 1e-12)
	relative(t, "SSE", r.SSE, plain.SSE, 1e-12)
}

func TestJumpingScaleIsHeld(t *testing.T) {
	// With few readings the median residual can switch between observations for
	// ever; the fit must still settle for the scale it reports.
	rng := seeded(11)
	jumping := 0
	for range 200 {
		n := geometric(300, 6000, 5)
		y := noisyLogs(rng, n, 2000, 0.02, rollOff)
		y[rng.IntN(len(n))]++
		r, err := FitRobust(logRollOff(n), y, nil, Robust{Loss: Bisquare})
		if err != nil {
			t.Fatal(err)
		}
		if r.Converged {
			continue
		}
		jumping++
		held, err := FitRobust(logRollOff(n), y, nil, Robust{Loss: Bisquare, Scale: r.Scale})
		if err != nil {
			t.Fatal(err)
		}
		if !held.Converged || !finite(r.SSE) {
			t.Errorf("scale %v: converged with it fixed: %v; SSE %v", r.Scale, held.Converged, r.SSE)
		}
	}
	if jumping == 0 || jumping > 20 {
		t.Errorf("scale jumped in %d of 200 draws, want a few", jumping)
	}
}
