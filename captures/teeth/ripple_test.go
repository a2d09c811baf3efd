package teeth

import (
	"math"
	"slices"
	"testing"
)

// TestWheelAmidCompressions: where the wheel slows down at each compression there is no
// gap, whatever the intervals say: the lobes are as much lower as they are longer.
func TestWheelAmidCompressions(t *testing.T) {
	for _, sigma := range []float64{0.08, 0.1, 0.12, 0.14, 0.16, 0.2} {
		for _, late := range []float64{0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9} {
			b := bumps{places: gapped(12, 1), sigma: sigma / 12, rpm: 200}
			v := b.drive(8e3, 2.5, 0.004, func(_, turns float64) float64 {
				return 200 * (1 + 0.45*math.Cos(2*math.Pi*(4*turns+late)))
			})
			m, err := Measure(wave(v, 1/8e3, 4096), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if w := m.Wheel.String(); m.Wheel.Known() && w != "12-1" {
				t.Errorf("sigma %g, compressions %g late: %s", sigma, late, w)
			}
		}
	}
}

// TestPeaksAmidCompressions: the peaks of the teeth that compressions slow down are as
// right as the others, though where in a pitch a peak is changes with the speed.
func TestPeaksAmidCompressions(t *testing.T) {
	const hz, noise, slow, reach = 30e3, 0.006, 160, 0.6
	for _, c := range []struct {
		wheel string
		teeth int
	}{{"12-1", 12}, {"36-1", 36}} {
		b := bumps{places: gapped(c.teeth, 1), sigma: 0.2 / float64(c.teeth), rpm: 200}
		rpmAt := func(_, turns float64) float64 { return 200 * (1 + 0.4*math.Cos(4*math.Pi*turns)) }
		clean := b.drive(hz, 6, 0, rpmAt)
		m, err := Measure(wave(b.drive(hz, 6, noise, rpmAt), 1/hz, 4096), Options{Wheel: wheel(t, c.wheel), KeepTeeth: true})
		if err != nil {
			t.Fatal(err)
		}
		sum, n := 0.0, 0
		for i, tooth := range m.ToothList {
			if i == 0 || !(tooth.RPM < slow) || math.IsNaN(tooth.PeakV) {
				continue
			}
			at := int(tooth.TimeS * hz)
			pitch := int(60 / tooth.RPM / float64(c.teeth) * hz)
			sum += tooth.PeakV / slices.Max(clean[at-int(reach*float64(pitch)):at])
			n++
		}
		if mean := sum / float64(n); n < 40 || math.Abs(mean-1) > 0.01 {
			t.Errorf("%s: %d slow teeth read %.1f %% off", c.wheel, n, 100*(mean-1))
		}
	}
}

// TestMeanPeakAmidCompressions: a reading's peak is the mean of its teeth's, however few
// they are between two compressions: none is taken for struck by a spark.
func TestMeanPeakAmidCompressions(t *testing.T) {
	const hz = 30e3
	for _, perTurn := range []float64{2, 3, 4} {
		for late := 0.0; late < 1; late += 0.125 {
			b := bumps{places: gapped(12, 1), sigma: 0.2 / 12, rpm: 200}
			v := b.drive(hz, 6, 0, func(_, turns float64) float64 {
				return 200 * (1 + 0.4*math.Cos(2*math.Pi*(perTurn*turns+late)))
			})
			m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, "12-1"), KeepRevolutions: true})
			if err != nil {
				t.Fatal(err)
			}
			sum := 0.0
			for _, turn := range m.RevolutionList {
				sum += turn.PeakV.Value
			}
			mean := sum / float64(len(m.RevolutionList))
			for _, r := range m.Readings {
				if math.Abs(r.PeakV.Value/mean-1) > 0.01 {
					t.Errorf("%g compressions a turn, %g late: %.3f V, where the teeth's mean is %.3f V", perTurn, late, r.PeakV.Value, mean)
				}
			}
		}
	}
}

// TestTeethAmidCompressions: of a wheel with few teeth each is found and known by its
// number, though a slow pitch lasts longer than a quick gap.
func TestTeethAmidCompressions(t *testing.T) {
	const hz = 30e3
	for _, perTurn := range []float64{1.5, 2, 3, 4} {
		for late := 0.0; late < 1; late += 0.125 {
			for _, noise := range []float64{0, 0.005} {
				b := bumps{places: gapped(12, 1), sigma: 0.2 / 12, rpm: 200}
				turnsAt := make([]float64, 0, int(6*hz))
				v := b.drive(hz, 6, noise, func(_, turns float64) float64 {
					turnsAt = append(turnsAt, turns)
					return 200 * (1 + 0.4*math.Cos(2*math.Pi*(perTurn*turns+late)))
				})
				m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, "12-1"), KeepTeeth: true})
				if err != nil {
					t.Fatal(err)
				}
				wrong := 0
				for _, tooth := range m.ToothList {
					turns := turnsAt[min(int(tooth.TimeS*hz), len(turnsAt)-1)]
					if tooth.Number != 1+int(math.Round(12*(turns-math.Floor(turns+0.5/12)))) {
						wrong++
					}
				}
				if wrong > 0 || m.Unseen > 0 || len(m.ToothList) < 190 {
					t.Errorf("%g compressions a turn, %g late, noise of %g V: of %d teeth %d have another's number, %d are missing", perTurn, late, noise, len(m.ToothList), wrong, m.Unseen)
				}
			}
		}
	}
}
