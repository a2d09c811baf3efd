package simulate

import (
	"math"
	"math/cmplx"
	"testing"
)

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// harmonic is the amplitude of the h-th harmonic of the teeth of a full wheel.
func harmonic(c *curve, teeth, h int) float64 {
	var sum complex128
	for i, v := range c.v[1 : curvePoints+1] {
		sum += complex(v, 0) * cmplx.Exp(complex(0, -2*math.Pi*float64(teeth*h*i)/curvePoints))
	}
	return 2 * cmplx.Abs(sum) / curvePoints
}

// A full wheel has the harmonics that the bump's closed form adds up to.
func TestHarmonicsOfAFullWheel(t *testing.T) {
	const teeth = 24
	s := testRig(t, "24").Sensors[0]
	s.ToothMM, s.PoleMM = 0.4*s.pitchMM(), 0.25*s.pitchMM()
	g := s.GapMM / s.pitchMM()
	c := s.emfCurve()
	for h := 1; h <= 6; h++ {
		flux := 2 * 0.4 * sinc(0.4*float64(h)) * sinc(0.25*float64(h)) * math.Exp(-2*math.Pi*float64(h)*g)
		want := s.LinkageVS * 2 * math.Pi * float64(teeth*h) * math.Abs(flux)
		got := harmonic(c, teeth, h)
		if math.Abs(got-want) > 1e-6*harmonic(c, teeth, 1) {
			t.Errorf("harmonic %d: %.9g V, want %.9g V", h, got, want)
		}
	}
}

// Decay of the fundamental over the gap, exp(−2πg/λ), as worked out for the
// spacing loss of R. L. Wallace, Bell Syst. Tech. J. 30 (1951): 54.575 dB for a
// gap of one wavelength; harmonic h loses h times as much.
func TestGapDecay(t *testing.T) {
	const teeth, pitchMM = 40, 8.0
	at := func(gapMM float64, h int) float64 {
		s := testRig(t, "40").Sensors[0]
		s.DiameterMM, s.GapMM = teeth*pitchMM/math.Pi, gapMM
		return harmonic(s.emfCurve(), teeth, h)
	}
	for gapMM, want := range map[float64]float64{
		0.127: 0.905067668, 0.254: 0.819147484, 0.5: 0.675231907, 0.8: 0.533488091, 1.0: 0.455938128, 1.5: 0.307863971,
	} {
		if got := at(0.3+gapMM, 1) / at(0.3, 1); math.Abs(got-want) > 1e-6 {
			t.Errorf("gap wider by %g mm: factor %.9f, want %.9f", gapMM, got, want)
		}
	}
	if got := 20 * math.Log10(at(0.3, 1)/at(0.3+pitchMM, 1)); math.Abs(got-54.57505415) > 1e-4 {
		t.Errorf("gap wider by a pitch: %.6f dB lost, want 54.575054 dB", got)
	}
	if got, want := at(0.8, 3)/at(0.3, 3), math.Pow(0.675231907, 3); math.Abs(got-want) > 1e-6 {
		t.Errorf("third harmonic, gap wider by 0.5 mm: factor %.9f, want %.9f", got, want)
	}
}

// A wheel with a missing tooth and that tooth alone make a full wheel together.
func TestMissingToothIsABumpTakenAway(t *testing.T) {
	full, gapped, alone := testRig(t, "36").Sensors[0], testRig(t, "36-1").Sensors[0], testRig(t, "36").Sensors[0]
	alone.Wheel.Positions = []int{35}
	a, b, c := full.emfCurve(), gapped.emfCurve(), alone.emfCurve()
	for i := range a.v {
		if math.Abs(b.v[i]+c.v[i]-a.v[i]) > 1e-9 {
			t.Fatalf("at point %d: %g V + %g V, want %g V", i, b.v[i], c.v[i], a.v[i])
		}
	}
}

// The lobe after the gap is the larger the wider the air gap is beside a pitch,
// the one beside a full neighbour is not; missing a tooth nearly doubles a lobe
// in the limit of a wide gap.
func TestLobeAfterGapGrowsWithAirGap(t *testing.T) {
	before := 1.0
	for _, gapMM := range []float64{0.5, 1.5, 3, 6} {
		rig := testRig(t, "36-1")
		rig.Sensors[0].GapMM, rig.Sensors[0].Coil, rig.LengthS = gapMM, Coil{}, 0.15
		_, teeth := record(t, rig, 5000)
		var first, middle float64
		for _, tooth := range teeth {
			switch tooth.Number {
			case 1:
				first = tooth.PeakV
			case 18:
				middle = tooth.PeakV
			}
		}
		if ratio := first / middle; ratio < before {
			t.Errorf("gap of %g mm: lobe %.4f of a regular one, want over %.4f", gapMM, ratio, before)
		} else {
			before = ratio
		}
	}
	if before < 1.3 {
		t.Errorf("widest gap: lobe %.3f of a regular one, want over 1.3", before)
	}
}

// Run-out of ±0.1 mm at a pitch of 8 mm changes the peak by exp(±2π·0.1/8) =
// 1.0817 and 0.9245.
func TestRunOut(t *testing.T) {
	rig := testRig(t, "60")
	s := &rig.Sensors[0]
	s.DiameterMM, s.GapMM, s.Coil = 60*8/math.Pi, 2.5, Coil{}
	even, err := Levels(*s, []float64{1000})
	if err != nil {
		t.Fatal(err)
	}
	s.RunOutMM, s.RunOutDeg = 0.1, 90
	rig.LengthS = 0.12
	_, teeth := record(t, rig, 5000)
	for _, tooth := range teeth {
		place := float64(tooth.Number-1) / 60
		want := even[0].PeakV.Value * math.Exp(-2*math.Pi*0.1/8*math.Cos(2*math.Pi*(place-0.25)))
		if math.Abs(tooth.PeakV/want-1) > 0.004 {
			t.Errorf("tooth %d: peak %.4f V, want %.4f V", tooth.Number, tooth.PeakV, want)
		}
	}
}
