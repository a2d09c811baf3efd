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
