package threshold

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"armcurve/captures"
)

// bench is a simulated sensor on a test bench: it can be read at any speed.
type bench struct {
	ampl     func(rpm float64) float64
	limitRPM float64
	readings []captures.Reading
	r        *rand.Rand
}

// newBench draws an amplitude, of a shape that is fitted or of one that is not,
// and takes three or four readings up to 1200 to 2500 rpm.
func newBench(r *rand.Rand) *bench {
	knee, power := 1200*math.Pow(8, r.Float64()), 0.6+0.4*r.Float64()
	shapes := []func(n float64) float64{
		func(n float64) float64 { return n },
		func(n float64) float64 { return math.Pow(n, power) },
		func(n float64) float64 { return n / math.Hypot(1, n/knee) },
		func(n float64) float64 { return -math.Expm1(-n / knee) },
		func(n float64) float64 { return n / (1 + n/knee) },
		// None of ours: a sharp knee, one over many decades, an arctangent, two
		// roll-offs one after the other, a weak resonance.
		func(n float64) float64 { return n / math.Cbrt(1+math.Pow(n/knee, 3)) },
		func(n float64) float64 { return n / math.Pow(1+math.Pow(n/knee, 0.6), 1.3) },
		func(n float64) float64 { return math.Atan(n / knee) },
		func(n float64) float64 { return n / math.Hypot(1, n/knee) / math.Hypot(1, n/(3*knee)) },
		func(n float64) float64 { u := n / (2 * knee); return n / math.Hypot(1-u*u, 1.2*u) },
	}
	b := &bench{ampl: shapes[r.IntN(len(shapes))], limitRPM: 5000 + 3000*r.Float64(), r: r}
	low, high, count := 200.0, 1200+1300*r.Float64(), 3+r.IntN(2)
	for i := range count {
		b.read(low * math.Pow(high/low, float64(i)/float64(count-1)))
	}
	return b
}

// read takes a reading, which scatters by 3 %.
func (b *bench) read(rpm float64) {
	v := b.ampl(rpm) / b.ampl(1000) * math.Exp(0.03*b.r.NormFloat64())
	b.readings = append(b.readings, captures.Reading{RPM: rpm, PeakV: captures.Some(v)})
}

// sensor fits the curve; more is not asked for here.
func (b *bench) sensor(t *testing.T) *Sensor {
	s := &Sensor{Options: DefaultOptions(), LimitRPM: b.limitRPM}
	if err := s.fit(newPoints(b.readings)); err != nil {
		t.Fatal(err)
	}
	return s
}

// lnWidth is the logarithm of how wide, in ln V, the bound at the limit is.
func (b *bench) lnWidth(t *testing.T) float64 {
	e := b.sensor(t).Curve.At(b.limitRPM)
	return math.Log(math.Log(e.HighV / e.LowV))
}

// apart is a copy whose readings to come scatter by themselves.
func (b *bench) apart(seed uint64) *bench {
	other := *b
	other.readings, other.r = slices.Clone(b.readings), rand.New(rand.NewPCG(seed, 9))
	return &other
}

// TestFollowingNext: the bound at the limit after three readings where each was
// advised is compared with that after three that divide the speeds within reach
// evenly: with the ends left out, with both put in, and, since the highest says
// most by far, with that one put in. Against the last no choice of speeds gains
// much: see TestKnowingNext.
func TestFollowingNext(t *testing.T) {
	const sensors = 500
	var inside, withEnd, withBoth, before []float64
	r := rand.New(rand.NewPCG(9, 1))
	for range sensors {
		b := newBench(r)
		start, seed := b.lnWidth(t), r.Uint64()
		followed := b.apart(seed)
		for range 3 {
			n, ok := followed.sensor(t).nextSpeed(b.limitRPM)
			if !ok {
				t.Fatalf("no speed to measure at after %v", followed.readings)
			}
			followed.read(n.RPM.Value)
		}
		low, reach := b.readings[0].RPM, reachablePart*b.limitRPM
		width := followed.lnWidth(t)
		spread := func(first, parts float64) float64 {
			even := b.apart(seed)
			for i := range 3 {
				even.read(low + (reach-low)*(first+float64(i))/parts)
			}
			return width - even.lnWidth(t)
		}
		inside = append(inside, spread(1, 4))
		withEnd = append(withEnd, spread(1, 3))
		withBoth = append(withBoth, spread(0, 2))
		before = append(before, width-start)
	}
	t.Logf("against no further reading: %s", paired(before))
	t.Logf("against evenly spread speeds, the highest within reach among them: %s", paired(withEnd))
	t.Logf("against evenly spread speeds, both ends among them: %s", paired(withBoth))
	t.Logf("against evenly spread speeds: %s", paired(inside))
	if mean, p := studied(inside); math.Exp(mean) > 0.85 || p > 0.01 {
		t.Errorf("want a bound at least 15 %% narrower than with evenly spread speeds, p < 0.01")
	}
	for _, better := range [][]float64{withBoth, withEnd} {
		if mean, p := studied(better); mean > 0 || p > 0.01 {
			t.Errorf("want a narrower bound than with evenly spread speeds up to the highest within reach, p < 0.01")
		}
	}
}

// TestKnowingNext tells how much narrower than with evenly spread speeds up to the
// highest within reach the bound could be at all: with the three speeds that are
// best on average over readings of the true curve, which no one knows.
func TestKnowingNext(t *testing.T) {
	var gained []float64
	r := rand.New(rand.NewPCG(9, 2))
	sensors := 2
	if *draws >= manyDraws {
		sensors = *draws / 4
	}
	for range sensors {
		b := newBench(r)
		seed := r.Uint64()
		low, reach := b.readings[0].RPM, reachablePart*b.limitRPM
		width := func(seed uint64, second, third float64) float64 {
			x := b.apart(seed)
			for _, rpm := range []float64{reach, second, third} {
				x.read(rpm)
			}
			return x.lnWidth(t)
		}
		least, best := math.Inf(1), [2]float64{}
		for i := range 8 {
			for j := range i + 1 {
				second, third := reach*float64(i+3)/10, reach*float64(j+3)/10
				sum := 0.0
				for k := range uint64(3) {
					sum += width(seed+1+k, second, third)
				}
				if sum < least {
					least, best = sum, [2]float64{second, third}
				}
			}
		}
		gained = append(gained, width(seed, best[0], best[1])-width(seed, low+(reach-low)/3, low+(reach-low)*2/3))
	}
	if mean, p := studied(gained); math.Exp(mean) < 0.8 && p < 0.01 {
		t.Errorf("want no choice that beats evenly spread speeds by far; there is one: %s", paired(gained))
	}
	t.Logf("who knew the curve, against evenly spread speeds up to the highest within reach: %s", paired(gained))
}

// studied gives the mean of paired differences and the chance of one as far
// below 0 by Student's t.
func studied(differences []float64) (mean, p float64) {
	n := float64(len(differences))
	mean, sd := stat.MeanStdDev(differences, nil)
	return mean, distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}.CDF(mean / (sd / math.Sqrt(n)))
}

func paired(differences []float64) string {
	mean, p := studied(differences)
	narrower := 0
	for _, d := range differences {
		if d < 0 {
			narrower++
		}
	}
	return strings.Join([]string{
		"width × " + hundredths(math.Exp(mean)), "narrower for " + whole(100*float64(narrower)/float64(len(differences))) + " %",
		"one-sided p " + strconv.FormatFloat(p, 'g', 1, 64),
	}, ", ")
}

// TestNext: what is advised follows from what is missing where the table is
// worst, and a speed that was measured is not advised again.
func TestNext(t *testing.T) {
	peak := func(rpm, peakV, noiseV float64) captures.Reading {
		return captures.Reading{RPM: rpm, PeakV: captures.Some(peakV), NoiseV: captures.Some(noiseV)}
	}
	standstill := captures.Reading{NoiseV: captures.Some(0.02)}
	weakest := peak(200, 0.45, 0.03)
	weakest.WeakestV = captures.Some(0.3)
	cases := []struct {
		name     string
		readings []captures.Reading
		change   func(*Options)
		want     string
		rpm      float64
	}{
		{"cranking unmeasured, noise too", []captures.Reading{{RPM: 800, PeakV: captures.Some(1.9)}, {RPM: 2000, PeakV: captures.Some(4.6)}, {RPM: 4500, PeakV: captures.Some(9.1)}}, nil, NextCranking, 200},
		{"little measured at speed", []captures.Reading{standstill, weakest, peak(850, 1.9, 0.05), peak(1800, 3.8, 0.07)}, func(o *Options) { o.LimitRPM = captures.Some(7000.0) }, NextPeak, 4200},
		{"within another reach", []captures.Reading{standstill, weakest, peak(850, 1.9, 0.05), peak(1800, 3.8, 0.07)}, func(o *Options) { o.LimitRPM, o.ReachableRPM = captures.Some(7000.0), captures.Some(3000.0) }, NextPeak, 3000},
		{"narrow at cranking, ripple assumed", []captures.Reading{standstill, peak(200, 0.5, 0.14), peak(850, 1.9, 0.14), peak(2500, 5, 0.15), peak(6000, 9.5, 0.2)}, nil, NextRipple, 200},
		{"narrow at cranking for the hump", []captures.Reading{standstill, peak(200, 0.5, 0.03), peak(850, 1.9, 0.03), peak(2500, 5, 0.04), peak(6000, 9.5, 0.05)}, func(o *Options) {
			o.Wheel, o.GapHump, o.CrankingRipple = captures.Wheel{Pitches: 36, Missing: []int{1}}, 0.35, captures.Some(0.3)
		}, NextHump, 0},
		{"all measured", []captures.Reading{standstill, weakest, peak(850, 1.9, 0.05), peak(2500, 5.1, 0.07), peak(4000, 7.4, 0.1), peak(6500, 10, 0.15)}, nil, "", 0},
	}
	for _, c := range cases {
		o := DefaultOptions()
		if c.change != nil {
			c.change(&o)
		}
		r, err := Propose(c.readings, o)
		if err != nil {
			t.Fatal(err)
		}
		found := slices.ContainsFunc(r.Findings, func(f captures.Finding) bool { return f.Kind == MeasureNext })
		switch {
		case found != (r.Next != nil && r.Sensor.NoiseKnown()): // else the noise finding has it
			t.Errorf("%s: finding %v, next %+v", c.name, found, r.Next)
		case r.Next == nil && c.want != "" || r.Next != nil && (r.Next.What != c.want || r.Next.RPM.Value != c.rpm):
			t.Errorf("%s: next is %+v, want %s at %v; worst %+v", c.name, r.Next, c.want, c.rpm, r.Judgement.Worst)
		}
	}
}

// Only what is within reach is asked for, and not cranking once it was read.
func TestReachableSpeeds(t *testing.T) {
	for _, c := range []struct {
		readings           []captures.Reading
		limitRPM, reachRPM float64
		cranking           bool
		leastRPM, mostRPM  float64
	}{
		{peaks(220, 0.6, 250, 0.7, 280, 0.8), 500, 300, false, 0, 0},
		{peaks(800, 1.9, 2000, 4.6, 4500, 9.1), 7000, 4200, true, 600, 4200},
		{peaks(180, 0.5, 2000, 4.6, 4500, 9.1), 7000, 3010, false, 600, 3010},
	} {
		o := DefaultOptions()
		o.LimitRPM, o.ReachableRPM = captures.Some(c.limitRPM), captures.Some(c.reachRPM)
		speeds := mustSensor(t, c.readings, o).reachableSpeeds()
		if c.cranking {
			if len(speeds) == 0 || speeds[0] != o.CrankingRPM {
				t.Errorf("no cranking among %v", speeds)
			}
			speeds = speeds[1:]
		}
		for _, rpm := range speeds {
			if rpm < c.leastRPM || rpm > c.mostRPM {
				t.Errorf("%v rpm, within %v to %v", rpm, c.leastRPM, c.mostRPM)
			}
		}
		if c.mostRPM > 0 && len(speeds) == 0 {
			t.Errorf("nothing within reach of %v rpm", c.reachRPM)
		}
	}
}

func BenchmarkNextSpeed(b *testing.B) {
	r := rand.New(rand.NewPCG(9, 1))
	bench := newBench(r)
	o := DefaultOptions()
	o.LimitRPM = captures.Some(bench.limitRPM)
	s, err := NewSensor(bench.readings, o)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s.nextSpeed(bench.limitRPM)
	}
}
