package leastsq

import (
	"fmt"
	"math"
	"testing"
)

// The shapes of the reference problems, as designs over x.

func lineThroughOrigin(x []float64) Model {
	return Model{Columns: 1, At: func(_ float64, _ []float64, columns [][]float64) {
		copy(columns[0], x)
	}}
}

func straightLine(x []float64) Model {
	return Model{Columns: 2, At: func(_ float64, _ []float64, columns [][]float64) {
		for i := range x {
			columns[0][i], columns[1][i] = 1, x[i]
		}
	}}
}

func shaped(x []float64, lo, hi float64, f func(x, theta float64) float64) Model {
	return Model{Columns: 1, Lo: lo, Hi: hi, Log: true, At: func(theta float64, _ []float64, columns [][]float64) {
		for i := range x {
			columns[0][i] = f(x[i], theta)
		}
	}}
}

func saturating(x, rate float64) float64 { return -math.Expm1(-rate * x) }
func rational(x, rate float64) float64   { return rate * x / (1 + rate*x) }
func power(x, exponent float64) float64  { return math.Pow(x, exponent) }
func michaelis(x, k float64) float64     { return x / (k + x) }
func rollOff(x, corner float64) float64  { return x / math.Sqrt(1+(x/corner)*(x/corner)) }
func saturatingAt(x, n0 float64) float64 { return -math.Expm1(-x / n0) }

var (
	misraX = []float64{77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0}
	misraY = []float64{10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78}

	norrisX = []float64{0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5}
	norrisY = []float64{0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2}

	puromycinX         = []float64{0.02, 0.02, 0.06, 0.06, 0.11, 0.11, 0.22, 0.22, 0.56, 0.56, 1.10, 1.10}
	puromycinTreated   = []float64{76, 47, 97, 107, 123, 139, 159, 152, 191, 201, 207, 200}
	puromycinUntreated = []float64{67, 51, 84, 86, 98, 115, 131, 124, 144, 158, 160}
)

func counting(first float64, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = first + float64(i)
	}
	return x
}

// relative checks got against want to a relative tolerance.
func relative(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*math.Abs(want)) {
		t.Errorf("%s = %.15g, want %.15g (off by %.1e, allowed %.1e relative)", what, got, want, math.Abs(got/want-1), tolerance)
	}
}

func mustFit(t *testing.T, m Model, y, weights []float64) Result {
	t.Helper()
	r, err := Fit(m, y, weights)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestFitReferences(t *testing.T) {
	// estimate and standard error of each parameter, linear ones first.
	type estimate struct{ value, err float64 }
	for _, c := range []struct {
		name      string
		model     Model
		y         []float64
		want      []estimate
		sse, sd   float64
		tolerance float64 // of parameters, sse and sd
		errors    float64 // tolerance of standard errors
	}{
		// NIST StRD linear: https://www.itl.nist.gov/div898/strd/lls/lls.shtml,
		// certified to 15 digits.
		{"NoInt1", lineThroughOrigin(counting(60, 11)), counting(130, 11),
			[]estimate{{2.07438016528926, 0.165289256198347e-01}}, 127.272727272727, 3.56753034006338, 1e-13, 1e-13},
		{"NoInt2", lineThroughOrigin([]float64{4, 5, 6}), []float64{3, 4, 4},
			[]estimate{{0.727272727272727, 0.420827318078432e-01}}, 0.272727272727273, 0.369274472937998, 2e-13, 1e-13},
		{"Norris", straightLine(norrisX), norrisY,
			[]estimate{{-0.262323073774029, 0.232818234301152}, {1.00211681802045, 0.429796848199937e-03}}, 26.6173985294224, 0.884796396144373, 1e-12, 1e-12},
		// NIST StRD nonlinear: https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml,
		// certified to 11 digits.
		{"Misra1a", shaped(misraX, 1e-6, 1, saturating), misraY,
			[]estimate{{2.3894212918e+02, 2.7070075241e+00}, {5.5015643181e-04, 7.2668688436e-06}}, 1.2455138894e-01, 1.0187876330e-01, 1e-10, 1e-9},
		{"Misra1d", shaped(misraX, 1e-6, 1, rational), misraY,
			[]estimate{{4.3736970754e+02, 3.6489174345e+00}, {3.0227324449e-04, 2.9334354479e-06}}, 5.6419295283e-02, 6.8568272111e-02, 1e-10, 1e-9},
		{"BoxBOD", shaped([]float64{1, 2, 3, 5, 7, 10}, 1e-3, 100, saturating), []float64{109, 149, 149, 191, 213, 224},
			[]estimate{{2.1380940889e+02, 1.2354515176e+01}, {5.4723748542e-01, 1.0455993237e-01}}, 1.1680088766e+03, 1.7088072423e+01, 1e-10, 1e-9},
		{"DanWood", shaped([]float64{1.309, 1.471, 1.490, 1.565, 1.611, 1.680}, 0.1, 10, power), []float64{2.138, 3.421, 3.597, 4.340, 4.882, 5.660},
			[]estimate{{7.6886226176e-01, 1.8281973860e-02}, {3.8604055871e+00, 5.1726610913e-02}}, 4.3173084083e-03, 3.2853114039e-02, 1e-10, 1e-9},
		// Bates and Watts, "Nonlinear Regression Analysis" (1988), data A1.4 and
		// A1.3; estimates by R 4.2.2 nls, to the digits it printed.
		{"BOD", shaped([]float64{1, 2, 3, 4, 5, 7}, 1e-3, 100, saturating), []float64{8.3, 10.3, 19.0, 16.0, 15.6, 19.8},
			[]estimate{{19.1425752865, 2.4959173}, {0.5310913763, 0.2030821}}, 25.9902672819, 2.5490325264, 1e-8, 1e-6},
		{"Puromycin treated", shaped(puromycinX, 1e-4, 100, michaelis), puromycinTreated,
			[]estimate{{212.683741, 6.947155}, {0.06412128, 0.00828095}}, 1195.448814, 10.93365819, 1e-7, 1e-6},
		{"Puromycin untreated", shaped(puromycinX[:11], 1e-4, 100, michaelis), puromycinUntreated,
			[]estimate{{160.280046, 6.480246}, {0.04770818, 0.00778188}}, 859.6042938, 9.77300303, 1e-7, 1e-6},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := mustFit(t, c.model, c.y, nil)
			got := r.Linear
			if c.model.searched() {
				got = append(got, r.Theta)
			}
			errs := r.StandardErrors()
			for i, want := range c.want {
				relative(t, fmt.Sprintf("parameter %d", i), got[i], want.value, c.tolerance)
				relative(t, fmt.Sprintf("its standard error %d", i), errs[i], want.err, c.errors)
			}
			relative(t, "SSE", r.SSE, c.sse, c.tolerance)
			relative(t, "SD", r.SD, c.sd, c.tolerance)
			if want := len(c.y) - len(c.want); r.DF != want {
				t.Errorf("DF = %d, want %d", r.DF, want)
			}
			if r.AtEdge {
				t.Error("AtEdge")
			}
		})
	}
}

// near checks got against want to an absolute tolerance.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.12g, want %.12g (off by %.1e, allowed %.1e)", what, got, want, math.Abs(got-want), tolerance)
	}
}

func correlation(cov [][]float64, i, j int) float64 {
	return cov[i][j] / math.Sqrt(cov[i][i]*cov[j][j])
}

func TestCovarianceReferences(t *testing.T) {
	// GNU Scientific Library, fit/test.c, there "computed from octave"; exact
	// arithmetic on Norris gives -7.74327536315644e-05, so that copy has ten digits.
	noInt1 := mustFit(t, lineThroughOrigin(counting(60, 11)), counting(130, 11), nil)
	relative(t, "NoInt1 unscaled variance", noInt1.Unscaled[0][0], 2.14661371686165e-05, 1e-13)
	noInt2 := mustFit(t, lineThroughOrigin([]float64{4, 5, 6}), []float64{3, 4, 4}, nil)
	relative(t, "NoInt2 unscaled variance", noInt2.Unscaled[0][0], 1.29870129870130e-02, 1e-13)
	norris := mustFit(t, straightLine(norrisX), norrisY, nil)
	relative(t, "Norris covariance", norris.Covariance()[0][1], -7.74327536339570e-05, 1e-10)
	// Norris forced through the origin: R 4.2.2 lm.
	origin := mustFit(t, lineThroughOrigin(norrisX), norrisY, nil)
	relative(t, "Norris through 0", origin.Linear[0], 1.001742080469786, 1e-14)
	relative(t, "Norris through 0, error", origin.StandardErrors()[0], 2.73277623609846e-04, 1e-12)
	relative(t, "Norris through 0, SD", origin.SD, 0.888196561738332, 1e-12)

	// R 4.2.2 nls, to the digits it printed.
	bod := mustFit(t, shaped([]float64{1, 2, 3, 4, 5, 7}, 1e-3, 100, saturating), []float64{8.3, 10.3, 19.0, 16.0, 15.6, 19.8}, nil)
	near(t, "BOD correlation", correlation(bod.Unscaled, 0, 1), -0.852801542, 1e-6)
	puromycin := mustFit(t, shaped(puromycinX, 1e-4, 100, michaelis), puromycinTreated, nil)
	near(t, "Puromycin correlation", correlation(puromycin.Unscaled, 0, 1), 0.7650837, 1e-6)
}

func TestGUMThermometer(t *testing.T) {
	// JCGM 100:2008 (GUM), Annex H.3, data of Table H.6; full digits from the GTC
	// documentation of that example and from R 4.2.2 lm.
	temperature := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	correction := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	fromTwenty := make([]float64, len(temperature))
	for i, v := range temperature {
		fromTwenty[i] = v - 20
	}
	r := mustFit(t, straightLine(fromTwenty), correction, nil)
	relative(t, "intercept", r.Linear[0], -0.17120379013135004, 1e-12)
	relative(t, "slope", r.Linear[1], 0.0021826977398872894, 1e-11)
	relative(t, "u(slope)", r.StandardErrors()[1], 0.0006679387732278323, 1e-11)
	near(t, "u(intercept)", r.StandardErrors()[0], 0.0028775978, 5e-11)
	near(t, "correlation", correlation(r.Unscaled, 0, 1), -0.9304296, 5e-8)
	relative(t, "SSE", r.SSE, 0.000110096583109, 1e-11)
	near(t, "SD", r.SD, 0.0034975640, 5e-11)

	at30 := r.Predict(straightLine([]float64{10}), 1)[0]
	near(t, "correction at 30 °C", at30.Value, -0.1493768127, 5e-11)
	near(t, "its u", r.SD*math.Sqrt(at30.Leverage), 0.0041385958, 5e-11)
	// 95 % interval of a new reading there, from R: t(0.975, 9) = 2.262157163.
	half := (-0.1371191500 + 0.1616344754) / 2
	near(t, "half width for a new reading", 2.262157163*r.SD*math.Sqrt(1+at30.Leverage), half, 1e-10)
}

func TestResistiveLoad(t *testing.T) {
	// A coil's volts into a resistive load, a·n/√(1+(n/c)²), a = 0.00518087210,
	// c = 1814.366351 (closed form, confirmed with ngspice 39.3), read to two
	// decimals; fits by scipy 1.10.1 curve_fit.
	rpm := []float64{250, 500, 1000, 2000, 4000, 6000, 8000}
	volts := []float64{1.28, 2.50, 4.54, 6.96, 8.56, 9.00, 9.17}
	for _, c := range []struct {
		name          string
		model         Model
		linear, theta float64
		rss, aicc     float64
		tolerance     float64 // as many digits as were printed
	}{
		{"roll-off", shaped(rpm, 10, 1e6, rollOff), 0.0051811036, 1814.5807, 3.5533166e-05, -51.471540, 3e-8},
		{"exponential", shaped(rpm, 10, 1e6, saturatingAt), 9.206007, 1484.0856, 0.064107361, 1.013396, 1e-7},
		{"rational", shaped(rpm, 10, 1e6, func(n, b float64) float64 { return n / (b + n) }), 11.270508, 1468.3711, 0.70137816, 17.760812, 1e-7},
		{"power", shaped(rpm, 0.05, 5, power), 0.25398492, 0.41017084, 5.2627262, 31.868313, 1e-7},
		{"line", lineThroughOrigin(rpm), 0.0014972076, 0, 43.366279, 39.631544, 5e-8},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := mustFit(t, c.model, volts, nil)
			relative(t, "linear", r.Linear[0], c.linear, c.tolerance)
			relative(t, "theta", r.Theta, c.theta, c.tolerance)
			relative(t, "RSS", r.SSE, c.rss, c.tolerance)
			aicc, err := AICc(r.SSE, len(rpm), c.model.parameters()+1)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "AICc", aicc, c.aicc, 1e-6)
		})
	}
	r := mustFit(t, shaped(rpm, 10, 1e6, rollOff), volts, nil)
	relative(t, "error of a", r.StandardErrors()[0], 2.73556e-06, 2e-6)
	relative(t, "error of c", r.StandardErrors()[1], 1.1735, 5e-5)

	exact := []float64{1.283094970, 2.497342809, 4.537344751, 6.962043701, 8.560518292, 8.997615895, 9.167192765}
	r = mustFit(t, shaped(rpm, 10, 1e6, rollOff), exact, nil)
	relative(t, "a from nine decimals", r.Linear[0], 0.00518087210, 1e-9)
	relative(t, "c from nine decimals", r.Theta, 1814.366351, 1e-9)
}

func TestAICcReferences(t *testing.T) {
	// Gaussian log likelihood by R 4.2.2, for the residual sums of squares of
	// NIST's Misra data under three models, and of BOD.
	for _, c := range []struct {
		name string
		rss  float64
		n, k int
		want float64
	}{
		{"Misra1d", 0.0564192952826, 14, 3, -29.0657405815199},
		{"Misra1a", 0.124551388944, 14, 3, -17.9790400837702},
		{"line through 0", 63.9753985012056, 14, 2, 66.0933659606003},
		{"BOD", 25.9902672819, 6, 3, 43.82303838},
	} {
		got, err := AICc(c.rss, c.n, c.k)
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.name, got, c.want, 1e-8)
	}
	// AIC of NoInt1 from the test suite of Julia's GLM package; the correction for
	// n = 11, k = 2 is 2·2·3/8.
	got, err := AICc(1400.0/11, 11, 2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "NoInt1", got-1.5, 62.149454400575, 1e-11)
}

func TestAICcRefuses(t *testing.T) {
	for _, c := range []struct {
		rss  float64
		n, k int
	}{{1, 4, 3}, {1, 3, 3}, {1, 0, 0}, {-1, 10, 2}, {math.NaN(), 10, 2}, {math.Inf(1), 10, 2}} {
		if got, err := AICc(c.rss, c.n, c.k); err == nil || !math.IsInf(got, 1) {
			t.Errorf("AICc(%v, %d, %d) = %v, %v; want +Inf and an error", c.rss, c.n, c.k, got, err)
		}
	}
	if got, err := AICc(0, 10, 2); err != nil || !math.IsInf(got, -1) {
		t.Errorf("AICc of an exact fit = %v, %v; want -Inf", got, err)
	}
}
