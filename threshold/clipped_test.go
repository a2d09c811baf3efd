package threshold

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"armcurve/captures"
)

// A clipped reading's peak is a lower limit: no lower bound is under it, and
// none between two of them, whatever the curves that fit the others would fall
// to. It is no upper one: what is above stays as it was.
func TestClippedReadingsHoldUpTheLowerBound(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	under, n := 0, 2**draws
	for range n {
		corner := 2000 * math.Pow(5, r.Float64())
		open := read(r, 3+r.IntN(3), 800, 1400, 0.004, corner)
		top := open[len(open)-1].PeakV.Value
		clipped := open
		for _, rpm := range []float64{2000, 3500, 7000} {
			c := peaks(rpm, 1.05*top)[0]
			c.Clipped = true
			clipped = append(clipped, c)
		}
		o := DefaultOptions()
		without, err := NewSensor(open, o)
		if err != nil {
			t.Fatal(err)
		}
		with, err := NewSensor(clipped, o)
		if err != nil {
			t.Fatal(err)
		}
		for _, rpm := range []float64{1000, 1700, 2000, 3000, 5000, 7000, 9000} {
			was, is := without.Curve.At(rpm), with.Curve.At(rpm)
			if is.LowV < was.LowV*(1-1e-9) || is.LowV > is.V*(1+1e-9) || math.Abs(is.V-was.V) > 1e-9*was.V {
				t.Fatalf("at %v rpm %+v with clipped readings, %+v without", rpm, is, was)
			}
			least := 1.05 * top * math.Exp(-with.Curve.bound)
			if rpm >= 2000 && rpm <= 7000 && is.LowV < least*(1-1e-9) && is.LowV < is.V*(1-1e-9) {
				t.Fatalf("at %v rpm the lower bound is %v V, under the %v V that were seen at the least", rpm, is.LowV, least)
			}
			if truth := 0.004 * rpm / math.Hypot(1, rpm/corner); truth >= 1.05*top && is.LowV > truth {
				under++
			}
		}
	}
	if under > n/20 {
		t.Errorf("the truth is under the lower bound %d times in %d draws", under, n)
	}
}

// Many clipped readings are one finding.
func TestClippedReadingsAreToldOnce(t *testing.T) {
	readings := peaks(200, 0.8, 800, 3.1, 1500, 5.5, 2000, 6, 4000, 6, 6000, 6)
	for i := 3; i < len(readings); i++ {
		readings[i].Clipped = true
	}
	s, err := NewSensor(readings, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	var told []captures.Finding
	for _, f := range s.Findings {
		if f.Kind == Clipped {
			told = append(told, f)
		}
	}
	if len(told) != 1 || !strings.HasSuffix(told[0].Text, "; so are 2 more, from 2000 to 6000 rpm") {
		t.Errorf("%+v", told)
	}
}
