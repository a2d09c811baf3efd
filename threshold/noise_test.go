package threshold

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"armcurve/captures"
)

// Upward passages per second of a level by ideal low-pass noise of bandwidth B,
// f0 = B/√3: closed forms, worked out with scipy 1.10.1.
func TestRiceRates(t *testing.T) {
	for _, c := range []struct {
		name                string
		bandHz, rmsV, level float64
		perS                float64
	}{
		{"A", 10e3, 1, 4, 1.93679439},
		{"B", 10e3, 1, 5, 0.0215158421},
		{"C", 20e3, 0.020, 0.100, 0.0430316842},
		{"D", 20e3, 0.020, 0.120, 1.75860658e-04},
		{"E", 20e3, 0.020, 0.140, 2.64395806e-07},
		{"F", 1e6, 1, 5, 2.15158421},
	} {
		rateHz := c.bandHz / math.Sqrt(3)
		near(t, c.name, RiceRate(c.level, c.rmsV, rateHz), c.perS, 1e-8)
		near(t, c.name+" back", RiceLevel(c.rmsV, rateHz, 1/c.perS), c.level, 1e-8)
	}
	for _, c := range []struct{ bandHz, exposureS, level float64 }{
		{10e3, 1, 4.161978911}, {10e3, 100, 5.150961932}, {10e3, 3600, 5.805122454}, {10e3, 1e6, 6.704706524}, {20e3, 3600, 5.923321793},
	} {
		near(t, "level", RiceLevel(1, c.bandHz/math.Sqrt(3), c.exposureS), c.level, 1e-9)
	}
	if RiceRate(0.1, 0, 1000) != 0 || RiceLevel(0.1, 1000, 1e-4) != 0 {
		t.Error("no noise, or too short a time for one crossing, is not 0")
	}
}

// measured makes a sensor in proportion to speed, 3 mV per rpm, from noise
// readings.
func measured(t *testing.T, o Options, noise ...captures.Reading) *Sensor {
	t.Helper()
	return mustSensor(t, append(peaks(200, 0.6, 800, 2.4, 2000, 6, 4000, 12, 6000, 18), noise...), o)
}

func part(s *Sensor, rpm float64, name string) float64 {
	for _, p := range s.NoiseParts(rpm) {
		if p.Name == name {
			return p.V
		}
	}
	return math.NaN()
}

func TestNoisePart(t *testing.T) {
	o := DefaultOptions()
	rms := captures.Reading{RPM: 3000, NoiseRMSV: captures.Some(0.02), NoiseRateHz: captures.Some(5000)}
	gaussian := RiceLevel(0.02, 5000, 600)
	near(t, "σ and rate", part(measured(t, o, rms), 3000, PartNoise), gaussian, 1e-12)

	rms.NoiseRateHz = captures.Maybe{}
	s := measured(t, o, rms)
	near(t, "σ at the assumed rate", part(s, 3000, PartNoise), RiceLevel(0.02, o.NoiseRateHz, 600), 1e-12)
	near(t, "σ for cranking's exposure", part(s, 300, PartNoise), RiceLevel(0.02, o.NoiseRateHz, 60), 1e-12)

	rms.NoiseRateHz, rms.ToneV = captures.Some(5000), captures.Some(0.05)
	near(t, "tone and σ", part(measured(t, o, rms), 3000, PartNoise), 0.05+gaussian, 1e-12)
	rms.NoiseV = captures.Some(0.5)
	near(t, "never under the largest seen", part(measured(t, o, rms), 3000, PartNoise), 0.5, 1e-12)

	bare := captures.Reading{RPM: 3000, NoiseV: captures.Some(0.1)}
	near(t, "bare largest", part(measured(t, o, bare), 3000, PartNoise), 0.1*o.NoiseReach, 1e-12)
	beside := captures.Reading{RPM: 3000, NoiseRMSV: captures.Some(0.001)}
	near(t, "a bare largest and a small σ in another row", part(measured(t, o, bare, beside), 3000, PartNoise), 0.1*o.NoiseReach, 1e-12)
}

// A largest value that Gaussian noise of that rms does not show in the time it
// was watched is continued like one without an rms, and told of.
func TestHeavyTailedNoise(t *testing.T) {
	o := DefaultOptions()
	seen := captures.Reading{
		Pos: captures.Pos{File: "noise.csv", Line: 2}, RPM: 3000,
		NoiseRMSV: captures.Some(0.02), NoiseRateHz: captures.Some(5000), NoiseRecordS: captures.Some(2.0),
	}
	usual := RiceLevel(0.02, 5000, 2/crestChance)
	for _, c := range []struct{ largestV, want float64 }{
		{0.999 * usual, RiceLevel(0.02, 5000, 600)},
		{1.001 * usual, 1.001 * usual * o.NoiseReach},
	} {
		seen.NoiseV = captures.Some(c.largestV)
		s := measured(t, o, seen)
		near(t, "noise part", part(s, 3000, PartNoise), c.want, 1e-12)
		told := slices.ContainsFunc(s.Findings, func(f captures.Finding) bool {
			return f.Kind == HeavyNoise && strings.Contains(f.Text, "noise.csv:2")
		})
		if heavy := c.largestV > usual; told != heavy || slices.Contains(s.Assumed, "noise_reach") != heavy {
			t.Errorf("%v V: told %v, assumed %v; want %v", c.largestV, told, s.Assumed, heavy)
		}
	}
}

// Of many readings of Gaussian noise the largest stands out further than of one:
// it is not told as heavy for that. Pulses are, among as many.
func TestManyReadingsOfNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	o := DefaultOptions()
	heavy := func(pulseV float64) bool {
		var list []captures.Reading
		for i := range 80 {
			// The largest of so many passages as Rice's rate gives, at random.
			largestV := 0.02 * math.Sqrt(2*math.Log(6000*0.06/-math.Log(rng.Float64())))
			if i == 40 {
				largestV = max(largestV, pulseV)
			}
			list = append(list, captures.Reading{
				RPM: 1000 + 50*float64(i), NoiseV: captures.Some(largestV), NoiseRMSV: captures.Some(0.02),
				NoiseRateHz: captures.Some(6000), NoiseRecordS: captures.Some(0.06),
			})
		}
		return slices.ContainsFunc(measured(t, o, list...).Findings, func(f captures.Finding) bool { return f.Kind == HeavyNoise })
	}
	const draws = 60
	told := 0
	for range draws {
		if heavy(0) {
			told++
		}
		if !heavy(0.15) {
			t.Error("a pulse of 7.5 times the rms is not told")
		}
	}
	if told > draws/15 {
		t.Errorf("told of %d of %d sets of Gaussian noise", told, draws)
	}
}

func TestNoiseOverSpeed(t *testing.T) {
	o := DefaultOptions()
	o.NoiseReach = 1
	noise := func(rpm, v float64) captures.Reading { return captures.Reading{RPM: rpm, NoiseV: captures.Some(v)} }
	s := measured(t, o, noise(0, 0.02), noise(1000, 0.10), noise(3000, 0.20), noise(3100, 0.19))
	for rpm, want := range map[float64]float64{
		500: 0.06, 1000: 0.10, 2000: 0.15, 3000: 0.20,
		4100: 0.19 + 0.09*1000/2100, // along the slope from 1000 rpm: 3000 is too near
	} {
		near(t, "noise", part(s, rpm, PartNoise), want, 1e-12)
	}
	near(t, "held below", part(measured(t, o, noise(1000, 0.1), noise(3000, 0.2)), 200, PartNoise), 0.1, 1e-12)
	near(t, "not falling above", part(measured(t, o, noise(1000, 0.2), noise(3000, 0.1)), 6000, PartNoise), 0.1, 1e-12)
	near(t, "one reading, held", part(measured(t, o, noise(0, 0.1)), 6000, PartNoise), 0.1, 1e-12)

	// Below cranking the largest of what was measured up to it counts.
	for _, rpm := range []float64{0, 50, 149} {
		near(t, "standstill over cranking", part(measured(t, o, noise(0, 0.3), noise(200, 0.1)), rpm, PartNoise), 0.3, 1e-12)
		near(t, "cranking over standstill", part(measured(t, o, noise(0, 0.1), noise(150, 0.3)), rpm, PartNoise), 0.3, 1e-12)
		near(t, "between the two", part(measured(t, o, noise(0, 0.1), noise(80, 0.4), noise(150, 0.2)), rpm, PartNoise), 0.4, 1e-12)
	}
}

func TestSpikes(t *testing.T) {
	o := DefaultOptions()
	o.NoiseReach = 1
	spike := captures.Reading{RPM: 2000, SpikeV: captures.Some(0.3)}
	noise := captures.Reading{RPM: 2000, NoiseV: captures.Some(0.1)}
	s := measured(t, o, spike, noise)
	near(t, "on the noise", part(s, 2000, PartSpikes), 0.4, 1e-12)
	near(t, "held below", part(s, 300, PartSpikes), 0.4, 1e-12)
	near(t, "by the square above", part(s, 6000, PartSpikes), 0.1+0.3*9, 1e-12)
	noise.RPM = 4000
	near(t, "from where noise was last watched", part(measured(t, o, spike, noise), 6000, PartSpikes), 0.1+0.3*2.25, 1e-12)
	if alone := measured(t, o, spike); !alone.NoiseKnown() || part(alone, 2000, PartNoise) != 0 {
		t.Error("spikes alone are noise that is known, without another part")
	}
}

func TestHump(t *testing.T) {
	o := DefaultOptions()
	o.NoiseReach, o.Wheel = 1, wheel(t, "60-2")
	rms := captures.Reading{RPM: 3000, NoiseRMSV: captures.Some(0.01), NoiseRateHz: captures.Some(5000)}
	quiet := RiceLevel(0.01, 5000, 600*0.25/60)
	near(t, "assumed", part(measured(t, o, rms), 3000, PartHump), 0.12*9+quiet, 1e-9)

	hump := captures.Reading{RPM: 1000, HumpV: captures.Some(0.3)}
	near(t, "measured, over the curve", part(measured(t, o, rms, hump), 3000, PartHump), 0.9+quiet, 1e-9)
	hump.PeakV, hump.HumpV = captures.Some(3.03), captures.Some(0.303) // the scope 1 % high for both
	near(t, "measured, over its own tooth", part(measured(t, o, rms, hump), 1000, PartHump)-quiet, 0.1*mustAt(measured(t, o, rms, hump), 1000), 1e-9)
	hump.HumpV = captures.Some(0)
	if v := part(measured(t, o, rms, hump), 3000, PartHump); v != 0 {
		t.Errorf("a hump that does not cross the rest level counts as %v V", v)
	}
	still := captures.Reading{HumpV: captures.Some(0)}
	near(t, "a hump at a standstill says nothing", part(measured(t, o, rms, still), 3000, PartHump), 0.12*9+quiet, 1e-9)
	o.Wheel = wheel(t, "60")
	if v := part(measured(t, o, rms), 3000, PartHump); v != 0 {
		t.Errorf("a hump of %v V without a gap", v)
	}
}

func mustAt(s *Sensor, rpm float64) float64 { return s.Curve.At(rpm).V }

// The chatter level is where the expected number of second arms is one, and
// from there on it falls below one.
func TestChatterIsTheLastRoot(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	found := 0
	for range 300 {
		o := DefaultOptions()
		o.Wheel = wheel(t, "36-1")
		o.Input.HysteresisV = 0.1 * r.Float64() * float64(r.IntN(2))
		rpm, rmsV, rateHz := 200*math.Pow(10, r.Float64()), 0.005*math.Pow(40, r.Float64()), 2000*math.Pow(50, r.Float64())
		s := measured(t, o, captures.Reading{RPM: rpm, NoiseRMSV: captures.Some(rmsV), NoiseRateHz: captures.Some(rateHz)})
		peakV, exposureS := s.WeakestV(rpm), s.noise.exposureS(rpm)
		arms := func(v float64) float64 {
			crossings := rateHz * v / (2 * math.Pi * peakV)
			swing := v + o.Input.HysteresisV/2
			return crossings * math.Exp(-swing*swing/(4*rmsV*rmsV)) * exposureS
		}
		level := part(s, rpm, PartChatter)
		if level > 0 {
			found++
			near(t, "second arms at the level", arms(level), 1, 1e-5)
		}
		for v := level * 1.001; v < 20*rmsV+2*level; v += rmsV / 20 {
			if arms(v) > 1 {
				t.Fatalf("σ %v V, %v Hz at %v rpm: %v arms at %v V above the level of %v V", rmsV, rateHz, rpm, arms(v), v, level)
			}
		}
	}
	if found < 100 {
		t.Errorf("chatter in only %d cases", found)
	}
	s := measured(t, DefaultOptions(), captures.Reading{RPM: 3000, NoiseV: captures.Some(0.1)})
	if v := part(s, 3000, PartChatter); v != 0 {
		t.Errorf("chatter of %v V where nothing is known of how noise spreads", v)
	}
}
