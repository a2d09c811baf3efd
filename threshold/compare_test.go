package threshold

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"armcurve/captures"
)

// read takes n readings of a roll-off between two speeds, with 2.5 % scatter.
func read(r *rand.Rand, n int, lowRPM, highRPM, perRPM, cornerRPM float64) []captures.Reading {
	var list []captures.Reading
	for i := range n {
		rpm := lowRPM * math.Pow(highRPM/lowRPM, float64(i)/float64(n-1))
		list = append(list, peaks(rpm, perRPM*rpm/math.Hypot(1, rpm/cornerRPM)*math.Exp(0.025*r.NormFloat64()))...)
	}
	return list
}

func mustCompare(t *testing.T, before, after []captures.Reading, o Options, co CompareOptions) Comparison {
	t.Helper()
	c, err := Compare(before, after, o, co)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestRatioOfTwoSensors changes a sensor by a factor, as a gap does, and holds
// the ratio found against it: inside its bounds in nine of ten draws or more,
// and rarely called one that falls with speed.
func TestRatioOfTwoSensors(t *testing.T) {
	r := rand.New(rand.NewPCG(29, 30))
	inside, falls, n := 0, 0, 5**draws
	for range n {
		factor, corner := 0.5+r.Float64(), 2000*math.Pow(5, r.Float64())
		before := read(r, 4+r.IntN(6), 200, 6000, 0.004, corner)
		after := read(r, 4+r.IntN(6), 250, 5000, 0.004*factor, corner)
		c := mustCompare(t, before, after, DefaultOptions(), CompareOptions{})
		if c.Overall.Low <= factor && factor <= c.Overall.High {
			inside++
		}
		if c.FallsWithSpeed {
			falls++
		}
		if !(c.Overall.Low <= c.Overall.Value && c.Overall.Value <= c.Overall.High) {
			t.Fatalf("ratio out of its bounds: %+v", c.Overall)
		}
	}
	t.Logf("factor inside the bounds in %.1f %%, called falling in %.1f %% of %d", 100*float64(inside)/float64(n), 100*float64(falls)/float64(n), n)
	if float64(inside) < 0.9*float64(n) || float64(falls) > 0.05*float64(n) {
		t.Errorf("factor inside the bounds in %d, called falling in %d of %d", inside, falls, n)
	}
}

// TestLoadFallsWithSpeed lowers the corner, as a heavier load does.
func TestLoadFallsWithSpeed(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	found, n := 0, 2**draws
	for range n {
		before := read(r, 5+r.IntN(5), 200, 6000, 0.004, 9000)
		after := read(r, 5+r.IntN(5), 200, 6000, 0.0042, 3000)
		c := mustCompare(t, before, after, DefaultOptions(), CompareOptions{})
		if c.FallsWithSpeed && slices.ContainsFunc(c.Findings, func(f captures.Finding) bool { return f.Kind == FallsWithSpeed }) {
			found++
		}
	}
	t.Logf("found in %d of %d", found, n)
	if float64(found) < 0.95*float64(n) {
		t.Errorf("a corner of 9000 rpm lowered to 3000 is found in %d of %d", found, n)
	}
}

// The field of a wheel's teeth decays by 54.6 dB per pitch (Wallace, Bell Syst.
// Tech. J. 30 (1951) 1145): a gap from 0.8 to 1.0 mm at a pitch of 8 mm takes
// the amplitude to 0.854636 of it.
func TestGapChange(t *testing.T) {
	before := peaks(200, 0.8, 800, 3.1, 2000, 7.2, 4500, 13.1)
	after := slices.Clone(before)
	for i := range after {
		after[i].PeakV = after[i].PeakV.Times(0.854635999)
	}
	o := DefaultOptions()
	o.Wheel = wheel(t, "60")
	diameter := captures.Some(60 * 8 / math.Pi)
	c := mustCompare(t, before, after, o, CompareOptions{SameSensor: true, DiameterMM: diameter})
	near(t, "gap change", c.GapChangeMM.Value, 0.2, 1e-6)
	near(t, "ratio", c.Overall.Value, 0.854635999, 1e-9)
	for name, co := range map[string]CompareOptions{"another sensor": {DiameterMM: diameter}, "no diameter": {SameSensor: true}} {
		if c := mustCompare(t, before, after, o, co); c.GapChangeMM.Known {
			t.Errorf("%s: a gap change of %v mm", name, c.GapChangeMM.Value)
		}
	}
}

// The old table is judged on the new readings, and scaled with them.
func TestOldTable(t *testing.T) {
	before := healthy()
	after := healthy()
	for i := range after {
		after[i].PeakV, after[i].WeakestV = after[i].PeakV.Times(0.45), after[i].WeakestV.Times(0.45)
	}
	old := mustPropose(t, before, DefaultOptions()).Table
	c := mustCompare(t, before, after, DefaultOptions(), CompareOptions{Table: &old})
	near(t, "ratio", c.Overall.Value, 0.45, 1e-6)
	if c.Check.Judgement.Verdict == Clear {
		t.Error("a table for twice the signal is still clear")
	}
	for i, row := range c.Rescaled.Table.Rows {
		if want := 0.45 * old.Rows[i].ThresholdV.Value; math.Abs(row.ThresholdV.Value-want) > 0.0051 {
			t.Errorf("%v V at %v rpm, want %v V to the nearest step", row.ThresholdV.Value, row.RPM, want)
		}
	}
	same := mustCompare(t, before, before, DefaultOptions(), CompareOptions{Table: &old})
	if same.Check.Judgement.Verdict != Clear || same.FallsWithSpeed || !slices.ContainsFunc(same.Findings, func(f captures.Finding) bool { return f.Kind == NoChange }) {
		t.Errorf("the same readings: %v, %+v", same.Check.Judgement.Verdict, same.Findings)
	}
}

func TestNoiseChange(t *testing.T) {
	before, after := healthy(), healthy()
	for i := range after {
		after[i].NoiseV = after[i].NoiseV.Times(2)
	}
	kinds := func(c Comparison) (list []captures.Severity) {
		for _, f := range c.Findings {
			if f.Kind == NoiseChanged {
				list = append(list, f.Severity)
			}
		}
		return list
	}
	if got := kinds(mustCompare(t, before, after, DefaultOptions(), CompareOptions{})); !slices.Equal(got, []captures.Severity{captures.Warning}) {
		t.Errorf("twice the noise: %v", got)
	}
	if got := kinds(mustCompare(t, after, before, DefaultOptions(), CompareOptions{})); !slices.Equal(got, []captures.Severity{captures.Note}) {
		t.Errorf("half the noise: %v", got)
	}
}

// noiseOf makes noise readings at speeds and volts.
func noiseOf(pairs ...float64) []captures.Reading {
	var list []captures.Reading
	for i := 0; i < len(pairs); i += 2 {
		list = append(list, captures.Reading{RPM: pairs[i], NoiseV: captures.Some(pairs[i+1])})
	}
	return list
}

// A change of noise is told of speeds that both sets measured, and of more than
// one reading where many lie close by.
func TestNoiseChangeIsMeasured(t *testing.T) {
	peak := peaks(200, 0.8, 800, 3.1, 2000, 7.2, 4500, 13.1)
	dense := noiseOf(1000, 0.1, 1050, 0.1, 1100, 0.1, 1150, 0.1, 1200, 0.1, 3000, 0.1)
	for _, c := range []struct {
		name          string
		before, after []captures.Reading
		rpm           float64 // 0 for no change
	}{
		{"other speeds", noiseOf(0, 0.02, 200, 0.02), noiseOf(3000, 0.2, 4000, 0.2), 0},
		{"only the spikes are known before", []captures.Reading{{RPM: 200, SpikeV: captures.Some(0.1)}}, noiseOf(200, 0.2), 0},
		{"one of many", dense, noiseOf(1000, 0.1, 1050, 0.1, 1100, 0.4, 1150, 0.1, 1200, 0.1, 3000, 0.1), 0},
		{"most of many", dense, noiseOf(1000, 0.1, 1050, 0.4, 1100, 0.4, 1150, 0.4, 1200, 0.1, 3000, 0.1), 1050},
		{"one alone", dense, noiseOf(1000, 0.1, 1050, 0.1, 1100, 0.1, 1150, 0.1, 1200, 0.1, 3000, 0.4), 3000},
		{"the one that grew most", noiseOf(200, 0.1, 3000, 0.1), noiseOf(200, 0.2, 3000, 0.4), 3000},
	} {
		got := 0.0
		x := mustCompare(t, slices.Concat(peak, c.before), slices.Concat(peak, c.after), DefaultOptions(), CompareOptions{})
		for _, f := range x.Findings {
			if f.Kind == NoiseChanged {
				got = f.FromRPM.Value
			}
		}
		if math.Abs(got-c.rpm) > 150 || (got == 0) != (c.rpm == 0) {
			t.Errorf("%s: change told at %v rpm, want %v", c.name, got, c.rpm)
		}
	}
}

// Where no speed is common the curves are continued, and the bounds hold what that
// may miss.
func TestRatioBetweenTheReadings(t *testing.T) {
	r := rand.New(rand.NewPCG(33, 34))
	inside, n := 0, 2**draws
	for range n {
		factor, corner := 0.5+r.Float64(), 2000*math.Pow(5, r.Float64())
		before := read(r, 3+r.IntN(4), 200, 800, 0.004, corner)
		after := read(r, 3+r.IntN(4), 2000, 6000, 0.004*factor, corner)
		c := mustCompare(t, before, after, DefaultOptions(), CompareOptions{})
		if c.Overall.Low <= factor && factor <= c.Overall.High {
			inside++
		}
		if !slices.ContainsFunc(c.Findings, func(f captures.Finding) bool { return f.Kind == NoCommonSpeed }) {
			t.Fatal("not told that no speed is common")
		}
	}
	t.Logf("factor inside the bounds in %.1f %% of %d", 100*float64(inside)/float64(n), n)
	if float64(inside) < 0.95*float64(n) {
		t.Errorf("factor inside the bounds in %d of %d", inside, n)
	}
}

// Each side has its own wheel, and a change of it is told.
func TestOtherWheel(t *testing.T) {
	readings := peaks(200, 0.8, 800, 3.1, 2000, 7.2)
	o := DefaultOptions()
	o.Wheel = wheel(t, "60-2")
	x := mustCompare(t, readings, readings, o, CompareOptions{WheelBefore: wheel(t, "36-1")})
	if was, is := x.Before.Options.Wheel.String(), x.After.Options.Wheel.String(); was != "36-1" || is != "60-2" || x.Findings[0].Kind != OtherWheel {
		t.Errorf("before %s, after %s: %+v", was, is, x.Findings)
	}
	if x := mustCompare(t, readings, readings, o, CompareOptions{WheelBefore: o.Wheel}); x.Findings[0].Kind == OtherWheel {
		t.Error("the same wheel is called another")
	}
}

// Sets of readings that share no speed, or one, are compared without a slope.
func TestNothingInCommon(t *testing.T) {
	low, high := peaks(200, 0.8, 300, 1.2, 450, 1.8), peaks(2000, 8, 3000, 12, 4500, 18)
	touching := peaks(450, 1.8, 900, 3.6, 1800, 7.2)
	for _, pair := range [][2][]captures.Reading{{low, high}, {high, low}, {low, touching}} {
		c := mustCompare(t, pair[0], pair[1], DefaultOptions(), CompareOptions{})
		near(t, "ratio", c.Overall.Value, 1, 0.1)
		if c.FallsWithSpeed || math.IsInf(c.SlopeBound, 0) || math.IsNaN(c.Slope+c.SlopeBound) {
			t.Errorf("slope %v within %v, falls %v", c.Slope, c.SlopeBound, c.FallsWithSpeed)
		}
		if pair[1][0].RPM == 450 && len(c.Samples) != 1 {
			t.Errorf("one speed in common is told %d times", len(c.Samples))
		}
	}
	if _, err := Compare(low[:1], high, DefaultOptions(), CompareOptions{}); err == nil {
		t.Error("one reading is compared")
	}
}
