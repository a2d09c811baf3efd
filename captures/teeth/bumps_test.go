package teeth

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
)

// bumps is a second, plainly made wave that shares nothing with package
// simulate: each tooth is a Gaussian bump of flux, so the voltage falls through
// zero near its middle; the places of zeros and peaks are found by bisection on
// the formula, at constant speed.
type bumps struct {
	places []float64 // in turns
	sigma  float64   // of a bump, turns
	rpm    float64
}

func (b bumps) volts(turns float64) float64 {
	turns -= math.Floor(turns)
	sum := 0.0
	for _, p := range b.places {
		d := turns - p
		d -= math.Round(d)
		if u := d / b.sigma; math.Abs(u) < 8 {
			sum -= u * math.Exp(-u*u/2)
		}
	}
	return sum * b.rpm / 1000
}

// truth gives for each tooth where in the turn the wave falls through zero, and
// the height of the lobe before.
func (b bumps) truth(i int) (turns, peakV float64) {
	low, high := b.places[i]-b.sigma/2, b.places[i]+b.sigma/2
	for range 60 {
		if mid := (low + high) / 2; b.volts(mid) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	for x := low; x > low-3*b.sigma; x -= b.sigma / 500 {
		peakV = max(peakV, b.volts(x))
	}
	return low, peakV
}

func (b bumps) samples(hz, seconds, offset, noise float64) []float64 {
	random := rand.New(rand.NewPCG(5, 6))
	v := make([]float64, int(hz*seconds))
	for i := range v {
		v[i] = offset + b.volts(float64(i)/hz*b.rpm/60) + noise*random.NormFloat64()
	}
	return v
}

// TestBumps: narrow and wide bumps, few and many samples, offset and noise, gaps
// spread unevenly.
func TestBumps(t *testing.T) {
	for _, c := range []struct {
		name          string
		pitches       int
		empty         []int
		width         float64 // sigma in pitches
		rpm, hz       float64
		offset, noise float64
		found         string
	}{
		{"narrow", 36, []int{35}, 0.15, 900, 100e3, 0, 0, "36-1"},
		{"usual", 36, []int{35}, 0.25, 900, 100e3, 2.5, 0, "36-1"},
		{"wide, lobes enlarged", 36, []int{35}, 0.33, 900, 100e3, 0, 0, "36-1"},
		{"wide, two missing", 60, []int{58, 59}, 0.33, 3000, 200e3, 0, 0, "60-2"},
		{"noise of a fifth", 60, []int{58, 59}, 0.25, 3000, 200e3, 0, 0.2 * 3, "60-2"},
		{"coarse", 60, []int{58, 59}, 0.25, 6000, 130e3, 0, 0, "60-2"},
		{"uneven gaps", 36, []int{14, 15, 17, 18, 34, 35}, 0.25, 1500, 100e3, 0, 0, "36-2-2-2"},
		{"three missing", 24, []int{21, 22, 23}, 0.25, 700, 50e3, -1, 0.01, "24-3"},
		{"few teeth", 4, []int{3}, 0.12, 2000, 50e3, 0, 0.01, "4-1"},
	} {
		b := bumps{sigma: c.width / float64(c.pitches), rpm: c.rpm}
		for p := range c.pitches {
			isEmpty := false
			for _, e := range c.empty {
				isEmpty = isEmpty || e == p
			}
			if !isEmpty {
				b.places = append(b.places, (float64(p)+0.5)/float64(c.pitches))
			}
		}
		turns := 10.0
		if *long {
			turns = 30
		}
		seconds := turns * 60 / c.rpm
		m, err := Measure(wave(b.samples(c.hz, seconds, c.offset, c.noise), 1/c.hz, 5000), Options{KeepTeeth: true})
		if err != nil {
			t.Fatal(err)
		}
		if m.Wheel.String() != c.found || m.Polarity != Normal || m.Signal != Reluctor {
			t.Errorf("%s: wheel %q (%s), polarity %s (%s), signal %s", c.name, m.Wheel, m.WheelWhy, m.Polarity, m.PolarityWhy, m.Signal)
			continue
		}
		checkBumps(t, c.name, b, m, c.hz, seconds, c.noise)
	}
}

func checkBumps(t *testing.T, name string, b bumps, m Measurement, hz, seconds, noise float64) {
	t.Helper()
	turns := b.rpm / 60 * (seconds - 1/hz)
	missed, worst, ratio, n := 0, 0.0, 0.0, 0
	next := 0
	for k := range int(turns) + 1 {
		for i := range b.places {
			at, peakV := b.truth(i)
			at += float64(k)
			pitch := 1.0 / float64(m.Wheel.Pitches)
			if at < pitch || at > turns-pitch {
				continue
			}
			for next < len(m.ToothList) && m.ToothList[next].TimeS*b.rpm/60 < at-0.3*pitch {
				next++
			}
			if next == len(m.ToothList) || m.ToothList[next].TimeS*b.rpm/60 > at+0.3*pitch {
				missed++
				continue
			}
			n++
			tooth := m.ToothList[next]
			worst = max(worst, 360*math.Abs(tooth.TimeS*b.rpm/60-at))
			ratio += tooth.PeakV / peakV
		}
	}
	extra := len(m.ToothList) - n
	t.Logf("%-22s %4d teeth, %d missed, %d beyond; worst %.4f crank deg, peaks %+.2f %%", name, n, missed, extra, worst, 100*(ratio/float64(n)-1))
	limit, bias := 0.05+1.25*noise, 0.01 // with what the noise does at the slope of a fall
	if missed > 0 || extra > 3 || worst > limit || math.Abs(ratio/float64(n)-1) > bias {
		t.Errorf("%s: %d missed, %d beyond, worst %.4f crank deg, peaks %+.2f %%", name, missed, extra, worst, 100*(ratio/float64(n)-1))
	}
	near(t, name+" rpm", m.Readings[0].RPM, b.rpm, 0.001)
}

// TestBegins: wherever in a pitch the wave begins, its first falls are where they
// are as exactly as all others.
func TestBegins(t *testing.T) {
	const hz, first = 100e3, 12
	for _, pitches := range []int{12, 24, 36} {
		for part := range 20 {
			b := bumps{sigma: 0.24 / float64(pitches), rpm: 5000}
			for p := range pitches {
				b.places = append(b.places, (float64(p)+float64(part)/20)/float64(pitches))
			}
			m, err := Measure(wave(b.samples(hz, 0.3, 0.7, 0), 1/hz, 4096), Options{KeepTeeth: true})
			if err != nil {
				t.Fatal(err)
			}
			fall, _ := b.truth(0) // all are alike
			for _, tooth := range m.ToothList[:first] {
				at := tooth.TimeS * b.rpm / 60
				if off := math.Abs(math.Remainder(at-fall, 1/float64(pitches))); 360*off > 0.05 {
					t.Errorf("%d teeth, the wave begins %d/20 before one: at turn %.4f off by %.3f°", pitches, part, at, 360*off)
				}
			}
		}
	}
}

// TestPieces is a sine in pieces with a 36-1 wheel's last tooth empty, two turns
// at 1000 rpm and 100 kHz. scipy 1.10.1 finds 70 peaks of 1.999842 to 2.0, and
// an arming replay 70 triggers, the first at 0.00083333351 s.
func TestPieces(t *testing.T) {
	for _, sigma := range []float64{0, 0.1} {
		random := rand.New(rand.NewPCG(1, 2))
		v := make([]float64, 12000)
		for i := range v {
			turn := float64(i) / 1e5 * 1000 / 60
			if phase := 36 * (turn - math.Floor(turn)); phase < 35 {
				v[i] = 2 * math.Sin(2*math.Pi*phase)
			}
			v[i] += sigma * random.NormFloat64()
		}
		o := Options{KeepTeeth: true, Wheel: wheel(t, "36-1")}
		m, err := Measure(wave(v, 1e-5, 4096), o)
		if err != nil {
			t.Fatal(err)
		}
		if len(m.ToothList) != 70 || m.Wheel.String() != "36-1" {
			t.Errorf("noise %g: %d teeth, want 70; wheel %q (%s)", sigma, len(m.ToothList), m.Wheel, m.WheelWhy)
			continue
		}
		within := 1e-6 + sigma*1e-4
		if first := m.ToothList[0].TimeS; math.Abs(first-0.00083333351) > within {
			t.Errorf("first tooth at %.9f s", first)
		}
		for _, tooth := range m.ToothList {
			if math.Abs(tooth.PeakV-2) > 0.01+sigma {
				t.Errorf("tooth at %g s has %g V", tooth.TimeS, tooth.PeakV)
			}
		}
	}
}

// TestShape against closed forms: a square wave's third harmonic is a third of
// its fundamental, a triangle's a ninth, a sine's nothing.
func TestShape(t *testing.T) {
	for _, c := range []struct {
		name        string
		f           func(phase float64) float64
		third, ends float64
	}{
		{"sine", func(p float64) float64 { return math.Sin(2 * math.Pi * p) }, 0, 0.41},
		{"square", func(p float64) float64 { return math.Copysign(1, 0.5-p) }, 1.0 / 3, 1},
		{"triangle", func(p float64) float64 { return 1 - 4*math.Abs(p-0.5) }, 1.0 / 9, 0.2},
	} {
		v := make([]float64, 4000)
		for i := range v {
			v[i] = c.f(float64(i%1000) / 1000)
		}
		w := newWindow()
		w.add(v, 1)
		w.sumTo(len(v))
		var s shape
		s.add(w, 999.5, 1999.5)
		if math.Abs(s.thirdRatio()-c.third) > 0.01 || math.Abs(s.endShare()-c.ends) > 0.15 {
			t.Errorf("%s: third harmonic %.4f, want %.4f; at ends %.3f, want %.2f", c.name, s.thirdRatio(), c.third, s.endShare(), c.ends)
		}
	}
}

// ExampleMeasure reads a wave of a 12-1 wheel.
func ExampleMeasure() {
	b := bumps{sigma: 0.02, rpm: 1200}
	for p := range 11 {
		b.places = append(b.places, float64(p)/12)
	}
	m, err := Measure(wave(b.samples(50e3, 1, 0, 0), 2e-5, 4096), Options{Sensor: captures.Crank})
	if err != nil {
		fmt.Println(err)
		return
	}
	r := m.Readings[0]
	fmt.Printf("%s, %s, %d revolutions, %.0f rpm, %.2f V\n", m.Wheel, m.Polarity, m.Revolutions, r.RPM, r.PeakV.Value)
	// Output: 12-1, normal, 18 revolutions, 1200 rpm, 0.70 V
}

// TestSampledPeak: of a sine with n samples a cycle the highest sample is low by
// 1 − sin(π/n)/(π/n) on the average and by 1 − cos(π/n) at most (the mean and
// the extreme of a cosine over half a sample). The peaks measured are not.
func TestSampledPeak(t *testing.T) {
	for _, c := range []struct{ n, mean, most float64 }{
		{8, 0.0255046, 0.0761205}, {10, 0.0163684, 0.0489435}, {16, 0.00641315, 0.0192147}, {20, 0.00410726, 0.0123117}, {50, 0.00065784, 0.00197327},
	} {
		perCycle := c.n + 1/math.E // so that samples fall everywhere
		v := make([]float64, int(600*perCycle))
		for i := range v {
			v[i] = math.Sin(2 * math.Pi * float64(i) / perCycle)
		}
		m, err := Measure(wave(v, 1e-4, 4096), Options{KeepTeeth: true})
		if err != nil {
			t.Fatal(err)
		}
		sum, worst := 0.0, 0.0
		for _, tooth := range m.ToothList[30 : len(m.ToothList)-2] {
			sum += tooth.PeakV - 1
			worst = max(worst, math.Abs(tooth.PeakV-1))
		}
		mean := sum / float64(len(m.ToothList)-32)
		if len(m.ToothList) < 590 || math.Abs(mean) > c.mean/2 || worst > c.most/2 {
			t.Errorf("%g samples a cycle: %d teeth, peaks off by %.5f on the average and %.5f at most", c.n, len(m.ToothList), mean, worst)
		}
	}
}
