package threshold

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"armcurve/captures"
)

// TestOneGrossOutlier spoils one reading of a simulated sensor by a factor that
// slips of unit, probe and quantity make, at any place among 4 to 16 readings.
// The curve must be the one without that reading, and a finding name it. Where
// the highest of few readings is halved, a real fall of the signal explains
// them as well, so that is found least often.
//
//	go test ./threshold -run OneGrossOutlier -v -draws 5000
func TestOneGrossOutlier(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	kinds := slices.Concat(shaped, unshaped)
	for _, factor := range []float64{0.1, 0.5, 2, 10} {
		named, others, n, squares := 0, 0, 0, 0.0
		for range 2 * *draws {
			sim := kinds[r.IntN(len(kinds))].simulate(r, 4+r.IntN(13))
			spoilt := r.IntN(len(sim.readings))
			isNamed, others1, moved, ok := sim.spoil(spoilt, factor)
			if !ok {
				continue
			}
			n++
			squares += moved * moved
			if isNamed {
				named++
			}
			others += others1
		}
		share, rms := float64(named)/float64(n), math.Sqrt(squares/float64(n))
		t.Logf("× %-4v named in %.1f %% of %d, curve moved by %.2f %% rms, %d other readings named", factor, 100*share, n, 100*rms, others)
		if share < 0.97 || rms > 0.02 || float64(others) > 0.02*float64(n) {
			t.Errorf("× %v: named in %.1f %%, curve moved by %.2f %% rms, %d others of %d", factor, 100*share, 100*rms, others, n)
		}
	}
}

// spoil multiplies one reading and tells whether it was named, how many others
// were, and the farthest that the curve stands from the one without it.
func (s simulated) spoil(i int, factor float64) (named bool, others int, moved float64, ok bool) {
	all := slices.Clone(s.readings)
	all[i].PeakV.Value *= factor
	rest := slices.Delete(slices.Clone(s.readings), i, i+1)
	with, err := NewSensor(all, DefaultOptions())
	without, err2 := NewSensor(rest, DefaultOptions())
	if err != nil || err2 != nil {
		return false, 0, 0, false
	}
	for _, f := range with.Findings {
		if f.Kind == Outlier && strings.HasPrefix(f.Text, all[i].Pos.String()+" ") {
			named = true
		} else if f.Kind == Outlier {
			others++
		}
	}
	for _, reading := range rest {
		n := speedAt(reading.RPM)
		moved = max(moved, math.Abs(with.Curve.lnAt(n)-without.Curve.lnAt(n)))
	}
	return named, others, moved, true
}

// TestNoOutlierWhereNoneIs draws sensors without a gross error: readings of one
// that falls again are named at times where few of them show the fall.
//
//	go test ./threshold -run NoOutlier -v -draws 5000
func TestNoOutlierWhereNoneIs(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	alarms, n := 0, 0
	for _, f := range families() {
		some := 0
		for range *draws {
			s, err := NewSensor(f.simulate(r, 3+r.IntN(14)).readings, DefaultOptions())
			if err == nil && len(s.outliers) > 0 {
				some++
			}
		}
		t.Logf("%-25s %.1f %%", f.name, 100*float64(some)/float64(*draws))
		alarms, n = alarms+some, n+*draws
	}
	share := float64(alarms) / float64(n)
	t.Logf("all %.2f %%", 100*share)
	if share > 0.01 {
		t.Errorf("a reading is named in %.1f %% of draws without an outlier", 100*share)
	}
}

// TestLowReadingAtTheTop is left out of the curve but keeps the lower bound
// under it; one lower than any signal falls is only left out.
func TestLowReadingAtTheTop(t *testing.T) {
	for _, c := range []struct {
		factor  float64
		doubted bool
	}{{0.5, true}, {0.1, false}} {
		var readings []captures.Reading
		for i, rpm := range []float64{200, 500, 1000, 2000, 3000, 4000, 5000} {
			readings = append(readings, captures.Reading{Pos: captures.Pos{File: "top.csv", Line: i + 2}, RPM: rpm, PeakV: captures.Some(0.003 * rpm)})
		}
		top := &readings[len(readings)-1]
		top.PeakV.Value *= c.factor
		s, err := NewSensor(readings, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		e := s.Curve.At(5000)
		if math.Abs(e.V/15-1) > 0.01 {
			t.Errorf("× %v: the curve is moved to %v V", c.factor, e.V)
		}
		if got := e.LowV < top.PeakV.Value; got != c.doubted {
			t.Errorf("× %v: lower bound %v V, reading %v V", c.factor, e.LowV, top.PeakV.Value)
		}
		if above := s.Curve.At(6000); c.doubted && above.LowV >= e.LowV {
			t.Errorf("× %v: the bound rises again above the doubtful reading", c.factor)
		}
	}
}
