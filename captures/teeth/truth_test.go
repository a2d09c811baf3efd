package teeth

import (
	"math"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// tally compares teeth found with the truth.
type tally struct {
	truth, found, missed, false int
	worstDeg, sumDeg2           float64
	peakRatio, peaks            float64 // sum of found ÷ true
}

func (a *tally) plus(b tally) {
	a.truth += b.truth
	a.found += b.found
	a.missed += b.missed
	a.false += b.false
	a.worstDeg = max(a.worstDeg, b.worstDeg)
	a.sumDeg2 += b.sumDeg2
	a.peakRatio += b.peakRatio
	a.peaks += b.peaks
}

func wheel(t testing.TB, text string) captures.Wheel {
	w, err := captures.ParseWheel(text)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// rig is a healthy sensor on a wheel.
func rig(t testing.TB, text string) simulate.Rig {
	w := wheel(t, text)
	return simulate.Rig{
		Name: text, Seed: 7, SampleHz: 100e3, LengthS: 1, Speed: simulate.Steady(1000),
		Sensors: []simulate.Sensor{{
			Name: captures.Crank, Wheel: w, DiameterMM: 150, GapMM: 1, LinkageVS: 3e-3,
			Coil: simulate.Coil{ResistanceOhm: 850, InductanceH: 0.4, LoadOhm: 15e3},
		}},
	}
}

// simulated measures a rig's capture and lists its true teeth.
func simulated(t testing.TB, g simulate.Rig, o Options) (Measurement, []simulate.Tooth) {
	t.Helper()
	source, err := simulate.Open(g)
	if err != nil {
		t.Fatal(err)
	}
	var truth []simulate.Tooth
	source.Watch(func(tooth simulate.Tooth) { truth = append(truth, tooth) })
	o.KeepTeeth, o.KeepRevolutions = true, true
	m, err := Measure(source, o)
	if err != nil {
		t.Fatal(err)
	}
	return m, truth
}

// compare matches found and true teeth within 0.3 of the true pitch; teeth
// within a pitch of either end count if found and are forgiven if not.
func compare(g simulate.Rig, m Measurement, truth []simulate.Tooth) tally {
	var a tally
	w := g.Sensors[0].Wheel
	pitchDeg := w.PitchDeg()
	if w.Pitches == 0 {
		pitchDeg = 30
	}
	end := g.StartS + (float64(m.Samples)-1)/g.SampleHz
	j := 0
	var seen []simulate.Tooth
	for _, x := range truth {
		if !x.Unseen {
			seen = append(seen, x)
		}
	}
	used := make([]bool, len(m.ToothList))
	for _, x := range seen {
		pitchS := pitchDeg / (6 * x.RPM)
		for j < len(m.ToothList) && m.ToothList[j].TimeS < x.TimeS-0.3*pitchS {
			j++
		}
		best := -1
		for k := j; k < len(m.ToothList) && m.ToothList[k].TimeS < x.TimeS+0.3*pitchS; k++ {
			if best < 0 || math.Abs(m.ToothList[k].TimeS-x.TimeS) < math.Abs(m.ToothList[best].TimeS-x.TimeS) {
				best = k
			}
		}
		if best < 0 {
			if x.TimeS > g.StartS+pitchS && x.TimeS < end-pitchS {
				a.truth++
				a.missed++
			}
			continue
		}
		a.truth++
		a.found++
		used[best] = true
		f := m.ToothList[best]
		deg := (f.TimeS - x.TimeS) * 6 * x.RPM
		a.worstDeg = max(a.worstDeg, math.Abs(deg))
		a.sumDeg2 += deg * deg
		if !x.AfterGap && f.PeakV == f.PeakV {
			a.peakRatio += f.PeakV / x.PeakV
			a.peaks++
		}
	}
	for _, u := range used {
		if !u {
			a.false++
		}
	}
	return a
}

func (a tally) log(t testing.TB, name string) {
	t.Helper()
	t.Logf("%-28s %6d teeth, %d missed, %d false; timing rms %.4f worst %.4f crank deg; peaks %+.2f %%", name,
		a.truth, a.missed, a.false, math.Sqrt(a.sumDeg2/float64(max(1, a.found))), a.worstDeg, 100*(a.peakRatio/a.peaks-1))
}
