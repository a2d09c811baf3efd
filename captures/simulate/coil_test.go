package simulate

import (
	"math"
	"math/cmplx"
	"testing"
)

// The amplitudes and phases are ngspice 39.3's, AC analysis of a coil of 1000 Ω
// and 0.5 H into its load.
var ngspice = []struct {
	coil      Coil
	hz        float64
	amplitude float64
	phaseRad  float64 // NaN where it was not printed
}{
	{Coil{1000, 0.5, 4700, 0}, 250, 0.81684362799, math.NaN()},
	{Coil{1000, 0.5, 4700, 0}, 1000, 0.72214084557, -0.5037307664},
	{Coil{1000, 0.5, 4700, 0}, 1814.366, 0.58305301636, -0.7853980666},
	{Coil{1000, 0.5, 4700, 0}, 6000, 0.23866917430, math.NaN()},
	{Coil{1000, 0.5, 100e3, 4.7e-9}, 1000, 1.0878452940, math.NaN()},
	{Coil{1000, 0.5, 100e3, 4.7e-9}, 3283.1158, 4.9913787285, math.NaN()},
	{Coil{1000, 0.5, 100e3, 4.7e-9}, 6000, 0.42401682449, -171.080 * math.Pi / 180},
	{Coil{1000, 0.5, 10e3, 4.7e-9}, 6000, 0.328452600, -137.366 * math.Pi / 180},
}

func TestResponseAgainstNgspice(t *testing.T) {
	for _, want := range ngspice {
		h := want.coil.Response(want.hz)
		if got := cmplx.Abs(h); math.Abs(got/want.amplitude-1) > 1e-7 {
			t.Errorf("%+v at %g Hz: amplitude %.11g, want %.11g", want.coil, want.hz, got, want.amplitude)
		}
		if got := cmplx.Phase(h); math.Abs(got-want.phaseRad) > 1e-5 {
			t.Errorf("%+v at %g Hz: phase %.8f, want %.8f", want.coil, want.hz, got, want.phaseRad)
		}
	}
}

// The stepped circuit, fed a sine at the coarsest step in use, gives ngspice's
// amplitude and phase.
func TestCircuitAgainstNgspice(t *testing.T) {
	for _, want := range ngspice {
		stepS := 1 / (want.hz * stepsPerDetail)
		k := newCircuit(want.coil, stepS)
		e := func(atS float64) float64 { return math.Sin(2 * math.Pi * want.hz * atS) }
		settle := int(math.Ceil(want.coil.settleS()*want.hz)) * stepsPerDetail
		var sum complex128
		for i := range settle + stepsPerDetail {
			atS := float64(i) * stepS
			v := k.step(e(atS), e(atS+stepS/2), e(atS+stepS))
			if i >= settle {
				sum += complex(v, 0) * cmplx.Exp(complex(0, -2*math.Pi*want.hz*(atS+stepS)))
			}
		}
		h := sum * complex(0, 2.0/stepsPerDetail)
		if got := cmplx.Abs(h); math.Abs(got/want.amplitude-1) > 1e-4 {
			t.Errorf("%+v at %g Hz: amplitude %.9f, want %.9f", want.coil, want.hz, got, want.amplitude)
		}
		if got := cmplx.Phase(h); math.Abs(got-want.phaseRad) > 1e-4 {
			t.Errorf("%+v at %g Hz: phase %.7f, want %.7f", want.coil, want.hz, got, want.phaseRad)
		}
	}
}

// A step of the emf into a coil and its load gives the textbook exponential,
// exactly, even where a step is many time constants.
func TestCircuitStepResponse(t *testing.T) {
	coil := Coil{ResistanceOhm: 1000, InductanceH: 0.5, LoadOhm: 4700}
	for _, stepS := range []float64{1e-7, 1e-5, 1e-3, 0.1} {
		k := newCircuit(coil, stepS)
		for i := 1; i <= 5; i++ {
			got := k.step(1, 1, 1)
			want := 4700.0 / 5700 * -math.Expm1(-float64(i)*stepS*5700/0.5)
			if math.Abs(got-want) > 1e-9*want+1e-15 {
				t.Errorf("step of %g s, %d: %.12g V, want %.12g V", stepS, i, got, want)
			}
		}
	}
}
