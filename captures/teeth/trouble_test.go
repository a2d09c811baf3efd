package teeth

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"
)

// gapped are the places of a wheel's teeth, the first pitches−missing of so many.
func gapped(pitches, missing int) []float64 {
	var places []float64
	for i := range pitches - missing {
		places = append(places, float64(i)/float64(pitches))
	}
	return places
}

// drive makes the wave of a wheel that turns as turnsAt says, by steps of time.
func (b bumps) drive(hz, seconds, noise float64, rpmAt func(s, turns float64) float64) []float64 {
	random := rand.New(rand.NewPCG(7, 8))
	v := make([]float64, int(hz*seconds))
	turns := 0.0
	for i := range v {
		rpm := rpmAt(float64(i)/hz, turns)
		v[i] = b.volts(turns)*rpm/b.rpm + noise*random.NormFloat64()
		turns += rpm / 60 / hz
	}
	return v
}

// compressed is the speed of an engine that slows down sharply twice a turn.
func compressed(mean, share, atTurn float64) func(s, turns float64) float64 {
	return func(_, turns float64) float64 {
		dip := 0.5 + 0.5*math.Cos(4*math.Pi*(turns-atTurn))
		return mean * (1 + share/3 - share*4/3*dip*dip)
	}
}

// TestGapInADip finds wheels whose gap passes as the engine slows down most, when
// a slow pitch is as long as two quick ones.
func TestGapInADip(t *testing.T) {
	for _, c := range []struct {
		Pattern          string
		pitches, missing int
	}{{"36-2", 36, 2}, {"36-1", 36, 1}, {"24-2", 24, 2}, {"60-2", 60, 2}, {"12-1", 12, 1}} {
		b := bumps{places: gapped(c.pitches, c.missing), sigma: 0.2 / float64(c.pitches), rpm: 200}
		v := b.drive(50e3, 4, 0.001, compressed(200, 0.4, 1-float64(c.missing+1)/2/float64(c.pitches)))
		m, err := Measure(wave(v, 2e-5, 4096), Options{KeepTeeth: true})
		if err != nil {
			t.Fatal(err)
		}
		if m.Wheel.String() != c.Pattern || m.Polarity == Reversed {
			t.Errorf("%s: found %q (%s), polarity %s", c.Pattern, m.Wheel, m.WheelWhy, m.Polarity)
		}
	}
}

// TestNoisyBeginning recognises a wheel from where a pull has become strong, not
// from where the noise was as large as the signal.
func TestNoisyBeginning(t *testing.T) {
	b := bumps{places: gapped(36, 1), sigma: 0.2 / 36, rpm: 1000}
	v := b.drive(100e3, 3, 0, func(s, _ float64) float64 { return 600 + 2000*s })
	random := rand.New(rand.NewPCG(9, 10))
	noise := 0.0
	for i := range v {
		noise = 0.8*noise + 0.6*0.4*random.NormFloat64()
		v[i] += noise
	}
	m, err := Measure(wave(v, 1e-5, 4096), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if m.Wheel.String() != "36-1" {
		t.Errorf("wheel %q (%s)", m.Wheel, m.WheelWhy)
	}
}

// TestFromStandstill follows an engine from bare noise into turning: no tooth is
// taken for another scale's, and coming to rest is no dropout.
func TestFromStandstill(t *testing.T) {
	for _, pitches := range []int{36, 60} {
		b := bumps{places: gapped(pitches, 2), sigma: 0.2 / float64(pitches), rpm: 200}
		v := b.drive(50e3, 4, 0.003, func(s, turns float64) float64 {
			switch {
			case s < 0.4:
				return 0
			case s < 0.8:
				return 600 * (s - 0.4)
			case s > 3.4:
				return max(0, 240-600*(s-3.4))
			}
			return compressed(240, 0.3, 0.3)(s, turns)
		})
		m, err := Measure(wave(v, 2e-5, 4096), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if m.Signal != Reluctor || m.Wheel.Pitches != pitches || has(m, "dropout") {
			t.Errorf("%d-2: signal %s (%s), wheel %q, findings %v", pitches, m.Signal, m.SignalWhy, m.Wheel, m.Findings)
		}
	}
}

// TestCutOff keeps the rest level where the instrument cuts off one side, so that
// what is cut off stands at the level of the cut.
func TestCutOff(t *testing.T) {
	b := bumps{places: gapped(36, 1), sigma: 0.2 / 36, rpm: 1000}
	v := b.drive(100e3, 3, 0.002, func(s, _ float64) float64 { return 1000 + 1500*s })
	const cutV = 1.2
	for i := range v {
		v[i] = min(v[i], cutV)
	}
	m, err := Measure(wave(v, 1e-5, 4096), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range m.Readings {
		if r.PeakV.Known && r.PeakV.Value > 1.02*cutV {
			t.Errorf("%g V at %g rpm, cut off at %g V", r.PeakV.Value, r.RPM, cutV)
		}
	}
	if !has(m, "clipped") {
		t.Errorf("findings %v", m.Findings)
	}
}

// TestCutOffBeginning finds each tooth of a wave that is cut off on both sides and
// begins a few teeth before a gap, whose first tooth then seems several times as long.
func TestCutOffBeginning(t *testing.T) {
	for _, before := range []int{3, 4, 5, 6} {
		var places []float64
		for i := range 36 {
			if i%12 < 10 {
				places = append(places, math.Mod(float64(i-10+before+36)+0.8, 36)/36)
			}
		}
		slices.Sort(places)
		b := bumps{places: places, sigma: 0.242 / 36, rpm: 3000}
		v := b.samples(100e3, 0.5, 0, 0.03)
		for i := range v {
			v[i] = max(-0.7, min(0.7, v[i])) // of peaks of 1.8 V
		}
		m, err := Measure(wave(v, 1e-5, 4096), Options{Wheel: wheel(t, "36-2-2-2")})
		if err != nil {
			t.Fatal(err)
		}
		if m.Teeth != 750 || m.Unseen > 0 {
			t.Errorf("%d teeth before the gap: %d teeth and %d unseen, want 750", before, m.Teeth, m.Unseen)
		}
	}
}

// TestSteps: of a clean wave in the coarse steps of an instrument neither the tops
// are cut off nor the steps spikes.
func TestSteps(t *testing.T) {
	for _, teeth := range []int{12, 36, 60} {
		for _, hz := range []float64{100e3, 250e3} {
			b := bumps{places: gapped(teeth, 1), sigma: 0.24 / float64(teeth), rpm: 1000}
			v := b.drive(hz, 3, 0, func(s, _ float64) float64 { return 700 + 2300*s })
			stepV := slices.Max(v) / 90
			for i := range v {
				v[i] = stepV * math.Round(v[i]/stepV)
			}
			m, err := Measure(wave(v, 1/hz, 4096), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if len(m.Readings) == 0 || has(m, "clipped") || has(m, "spikes") {
				t.Errorf("%d teeth, %g Hz: %d readings, findings %v", teeth, hz, len(m.Readings), m.Findings)
			}
		}
	}
}

// TestStruckTeeth leaves teeth that a spark strikes in each turn out of the
// weakest and the short ones.
func TestStruckTeeth(t *testing.T) {
	b := bumps{places: gapped(60, 2), sigma: 0.2 / 60, rpm: 3000}
	v := b.samples(200e3, 1, 0, 0.02)
	for turn := range 49 {
		for _, angle := range []float64{0.213, 0.713} {
			from := int((float64(turn) + angle) * 60 / 3000 * 200e3)
			for i := range 60 {
				v[from+i] -= 3 * math.Exp(-float64(i)/20) * math.Cos(2*math.Pi*float64(i)/18)
			}
		}
	}
	m, err := Measure(wave(v, 5e-6, 4096), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Readings) != 1 || has(m, "short-tooth") {
		t.Fatalf("%d readings, findings %v", len(m.Readings), m.Findings)
	}
	r := m.Readings[0]
	near(t, "weakest over mean", r.WeakestV.Value/r.PeakV.Value, 1, 0.03)
}

// TestStruckMean: sparks about as high as the teeth, over the same ones in each turn,
// leave the mean peak and the speed what they are.
func TestStruckMean(t *testing.T) {
	const hz, ringHz, decayS = 200e3, 15e3, 8e-5
	b := bumps{places: gapped(36, 1), sigma: 0.24 / 36, rpm: 8000}
	_, peakV := b.truth(20)
	for _, times := range []float64{0.5, 1, 1.5} {
		v := b.samples(hz, 1.5, 0, 0.06*peakV)
		for half := range int(2*b.rpm/60*1.5) - 1 {
			from := (float64(half)/2 + 155.0/360) * 60 / b.rpm * hz
			for i := int(math.Ceil(from)); i < int(from+6*decayS*hz); i++ {
				s := (float64(i) - from) / hz
				v[i] += times * peakV * math.Exp(-s/decayS) * math.Cos(2*math.Pi*ringHz*s)
			}
		}
		m, err := Measure(wave(v, 1/hz, 4096), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(m.Readings) != 1 {
			t.Fatalf("sparks of %g times the peak: %d readings", times, len(m.Readings))
		}
		r := m.Readings[0]
		t.Logf("sparks of %g times the peak: mean peak %.4f of the true one, speed %.5f", times, r.PeakV.Value/peakV, r.RPM/b.rpm)
		near(t, "mean peak", r.PeakV.Value/peakV, 1, 0.005)
		near(t, "rpm", r.RPM/b.rpm, 1, 0.001)
	}
}

// TestHum takes mains for what it is, whether or not a wheel was stated.
func TestHum(t *testing.T) {
	for _, hz := range []float64{50, 60.1} {
		v := make([]float64, 100000)
		for i := range v {
			v[i] = 0.3 * math.Sin(2*math.Pi*hz*float64(i)*5e-5)
		}
		for _, stated := range []string{"", "24"} {
			m, err := Measure(wave(v, 5e-5, 4096), statedIf(t, stated))
			if err != nil {
				t.Fatal(err)
			}
			if m.Signal != Unknown || len(m.Readings) > 0 {
				t.Errorf("%g Hz, stated %q: signal %s, %d readings", hz, stated, m.Signal, len(m.Readings))
			}
		}
	}
}

// TestSpeedOfMains believes the wheel that is stated where its teeth happen to pass
// as often as mains swings, and says what it looks like where none is.
func TestSpeedOfMains(t *testing.T) {
	for _, c := range []struct {
		teeth int
		rpm   float64
	}{{24, 250}, {24, 300}, {36, 100}, {12, 600}, {60, 100}} {
		b := bumps{places: gapped(c.teeth, 0), sigma: 0.24 / float64(c.teeth), rpm: c.rpm}
		v := b.samples(20e3, 4, 0, 0.0667*c.rpm/1000)
		for _, stated := range []Options{{}, {Wheel: wheel(t, strconv.Itoa(c.teeth))}} {
			m, err := Measure(wave(v, 5e-5, 4096), stated)
			if err != nil {
				t.Fatal(err)
			}
			if is := m.Signal == Reluctor && len(m.Readings) == 1; is != stated.Wheel.Known() {
				t.Errorf("%d teeth at %g rpm, stated %q: signal %s (%s), %d readings", c.teeth, c.rpm, stated.Wheel, m.Signal, m.SignalWhy, len(m.Readings))
			}
		}
	}
}

// TestLooseContact takes the wave away now and then while the engine gains speed,
// and leaves slow noise of an instrument's last step or two: the reading comes to
// its end, and goes on whenever the wave does.
func TestLooseContact(t *testing.T) {
	const hz, seconds, awayS, stepV = 200e3, 4.0, 0.1, 0.02
	random := rand.New(rand.NewPCG(21, 22))
	b := bumps{places: gapped(36, 1), sigma: 0.25 / 36, rpm: 1000}
	whole := b.drive(hz, seconds, 0, func(s, _ float64) float64 { return 1000 + 1500*s })
	for range 15 {
		v := slices.Clone(whole)
		for third := range 3 {
			from := int(hz * (seconds*float64(third)/3 + random.Float64()*(seconds/3-awayS)))
			clear(v[from : from+int(awayS*hz)])
		}
		slow := 0.0
		for i := range v {
			slow += 0.1 * (random.NormFloat64() - slow)
			v[i] = stepV * math.Round(v[i]/stepV+slow)
		}
		m, err := Measure(wave(v, 1/hz, 4096), Options{})
		if err != nil {
			t.Fatal(err)
		}
		const turns = (1000 + 7000) / 2 * seconds / 60
		if lost := 3 * awayS / seconds; m.Wheel.String() != "36-1" || float64(m.Teeth) < 35*turns*(1-1.5*lost) {
			t.Errorf("wheel %q, %d teeth of %g", m.Wheel, m.Teeth, 35*turns)
		}
	}
}
