package report

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"armcurve/captures"
)

// below is the float just under v.
func below(v float64) float64 { return math.Nextafter(v, 0) }

// Each boundary of rounding and the float just below it.
func TestVoltText(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{0, "0.000"}, {1e-9, "< 0.001"}, {below(0.0005), "< 0.001"}, {0.0005, "0.001"}, {0.0125, "0.013"},
		{below(0.9995), "0.999"}, {0.9995, "1.00"},
		{below(9.995), "9.99"}, {9.995, "10.0"},
		{below(99.95), "99.9"}, {99.95, "100"}, {100.49, "100"}, {999, "999"}, {9990, "9990"},
	} {
		if got := voltText(c.v); got != c.want {
			t.Errorf("%v V is written %q; want %q", c.v, got, c.want)
		}
	}
}

func TestMarginText(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{0, "0.00"}, {below(0.01), "0.01"}, {0.0099, "0.00"},
		{1, "1.00"}, {0.9999999, "0.99"}, {1.25, "1.25"}, {below(1.25), "1.25"}, {1.2499999, "1.24"},
		{1.999, "1.99"}, {99.999, "99.99"}, {below(1000), "1000.00"}, {999.99, "999.99"}, {1000, "over 999"}, {1e12, "over 999"},
	} {
		if got := marginText(c.v); got != c.want {
			t.Errorf("a margin of %v is written %q; want %q", c.v, got, c.want)
		}
	}
}

func TestTargetText(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{1.25, "1.25"}, {math.Nextafter(1.25, 2), "1.25"}, {1.2500001, "1.26"}, {2, "2.00"}, {1.6071, "1.61"},
	} {
		if got := targetText(c.v); got != c.want {
			t.Errorf("a target of %v is written %q; want %q", c.v, got, c.want)
		}
	}
}

// A margin is never shown larger than it is, a target never smaller, and a
// margin that misses its target never looks as if it met it.
func TestMarginsAreHonest(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	number := func(text string) float64 {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for range 5000 {
		target := 1 + 3*random.Float64()
		margin := target * (0.99 + 0.01*random.Float64())
		shown, wanted := number(marginText(margin)), number(targetText(target))
		if shown > margin+1e-8 || wanted < target-1e-8 || margin < target*(1-1e-8) && shown >= wanted {
			t.Fatalf("margin %v of target %v is shown as %v of %v", margin, target, shown, wanted)
		}
	}
}

func TestRatioText(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{{0.997, "1.00"}, {0.9949, "0.99"}, {1.035, "1.03"}, {1.0351, "1.04"}} {
		if got := ratioText(c.v); got != c.want {
			t.Errorf("a ratio of %v is written %q; want %q", c.v, got, c.want)
		}
	}
}

func TestThresholdCell(t *testing.T) {
	for _, c := range []struct {
		v, stepV    float64
		text, exact string
	}{
		{0.13, 0.01, "0.13", "0.13"}, {3 * 0.1, 0.1, "0.30", "0.3"}, {0.25, 0.25, "0.25", "0.25"},
		{0.125, 0.125, "0.125", "0.125"}, {0.0001, 0.0001, "0.0001", "0.0001"}, {2, 1, "2.00", "2"},
		{0.2, 0.02, "0.20", "0.2"}, {0.128034567, 1e-9, "0.1280", "0.128034567"}, {1. / 3, 1. / 3, "0.3333", "0.333333333"},
	} {
		got := thresholdCell(captures.Some(c.v), c.stepV)
		if got != (Cell{c.text, c.exact}) {
			t.Errorf("%v V in steps of %v V is written %q; want %q, %q", c.v, c.stepV, got, c.text, c.exact)
		}
	}
	if got := thresholdCell(captures.Maybe{}, 0.01); got != (Cell{"none", ""}) {
		t.Errorf("no threshold is written %q", got)
	}
}

func TestUnknownCells(t *testing.T) {
	for name, cell := range map[string]Cell{"volts": voltCell(captures.Maybe{}), "margin": marginCell(captures.Maybe{}), "rate": rateCell(captures.Maybe{})} {
		if cell != (Cell{"–", ""}) {
			t.Errorf("unknown %s are written %q; want a dash for people, nothing for programs", name, cell)
		}
	}
}

func TestRateText(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{0, "< 0.001"}, {below(0.001), "< 0.001"}, {0.001, "0.001"}, {0.0234, "0.02"}, {3.4, "3"}, {below(9.5), "9"}, {9.5, "10"}, {42, "42"},
		{999999, "999999"}, {below(1e6), "1000000"}, {1e6, "over 10⁶"},
	} {
		if got := rateText(c.v); got != c.want {
			t.Errorf("a rate of %v is written %q; want %q", c.v, got, c.want)
		}
	}
}

// A share is written with two digits and in full, whatever its size.
func TestShareCell(t *testing.T) {
	for share, want := range map[float64]string{1: "100 %", 0.999: "100 %", 0.624: "62 %", 0.0094: "0.94 %", 3e-7: "0.00003 %"} {
		if got := shareCell(share).Text; got != want {
			t.Errorf("%v is written %q; want %q", share, got, want)
		}
	}
}
