package teeth

import (
	"math"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// TestLoneTooth: the teeth of a cam with one, narrow as they are and so far apart, are
// all found in a pull.
func TestLoneTooth(t *testing.T) {
	g := rig(t, "36-1")
	g.Speed, g.LengthS, g.SampleHz = simulate.Pull(700, 5000, 3), 3, 60e3
	cam := g.Sensors[0]
	cam.Name, cam.OnCam, cam.Wheel = captures.Cam, true, wheel(t, "1")
	cam.DiameterMM, cam.ToothMM, cam.GapMM = 120, 2, 0.5
	cam.Noise = []simulate.Noise{{SigmaV: 0.02, RateHz: 9000}}
	g.Sensors = []simulate.Sensor{cam}
	m, truth := simulated(t, g, Options{OnCam: true, Wheel: wheel(t, "1")})
	if len(m.ToothList) != len(truth) || len(m.Readings) < 10 {
		t.Errorf("%d of %d teeth, %d readings: %s; %s", len(m.ToothList), len(truth), len(m.Readings), m.SignalWhy, m.WheelWhy)
	}
}

// loneTooth is a wheel with a tooth alone between two gaps, of Gaussian bumps as wide as
// a part of a pitch.
func loneTooth(width, rpm float64) bumps {
	b := bumps{sigma: width / 36, rpm: rpm}
	for p := range 36 {
		if p < 16 || p == 18 || p > 20 && p < 34 {
			b.places = append(b.places, (float64(p)+0.5)/36)
		}
	}
	return b
}

// driven measures a wheel driven at a speed, and counts the teeth that passed in whole
// pitches from the first sample to the last.
func (b bumps) driven(t *testing.T, hz, seconds, noise float64, rpmAt func(s, turns float64) float64) (m Measurement, passed int) {
	m, err := Measure(wave(b.drive(hz, seconds, noise, rpmAt), 1/hz, 5000), Options{KeepTeeth: true, Wheel: wheel(t, "36-2-2-2")})
	if err != nil {
		t.Fatal(err)
	}
	turns := 0.0
	for i := range int(hz * seconds) {
		turns += rpmAt(float64(i)/hz, turns) / 60 / hz
	}
	for _, p := range b.places {
		passed += int(turns-p) + 1
		if turns < p {
			passed--
		}
	}
	return m, passed
}

// hidden is the number of teeth whose peak was not seen.
func hidden(m Measurement) (n int) {
	for _, tooth := range m.ToothList[1:] { // the wave may begin at the top of the first
		if tooth.PeakV != tooth.PeakV {
			n++
		}
	}
	return n
}

// TestLoneToothBetweenGaps: the tooth is higher than any other, by half or more, and
// the wave about it three times as slow. It is taken for no spark, and no other tooth is
// lost for it: at a steady speed from the first on, and in cranking and pulls where
// compressions make the wheel run as fast over many pitches as over few before.
func TestLoneToothBetweenGaps(t *testing.T) {
	speed := func(from, gain, ripple, atTurn float64) func(s, turns float64) float64 {
		return func(s, turns float64) float64 {
			return from + gain*s - from*ripple*math.Cos(4*math.Pi*(turns-atTurn))
		}
	}
	for _, c := range []struct {
		name              string
		width, hz, noiseV float64
		rpmAt             func(s, turns float64) float64
	}{
		{"steady", 0.38, 125e3, 0.5, speed(8000, 0, 0, 0)},
		{"cranked", 0.33, 25e3, 0.01, compressed(250, 0.3, 0.1)},
		{"compressed at the lone tooth", 0.33, 25e3, 0.01, compressed(250, 0.3, 0.35)},
		{"even pull", 0.33, 50e3, 0.002, speed(250, 1300, 0, 0)},
		{"pull", 0.33, 50e3, 0.002, speed(250, 1300, 0.25, 0.3)},
		{"quick pull", 0.33, 50e3, 0.002, speed(250, 2500, 0.3, 0.4)},
		{"flare", 0.33, 50e3, 0.002, speed(150, 4000, 0.4, 0.4)},
	} {
		m, passed := loneTooth(c.width, 1000).driven(t, c.hz, 1, c.noiseV, c.rpmAt)
		t.Logf("%s: %d of %d teeth, %d hidden, %d unseen", c.name, len(m.ToothList), passed, hidden(m), m.Unseen)
		if d := len(m.ToothList) - passed; d < -1 || d > 0 || hidden(m) > 0 || m.Unseen > 0 {
			t.Errorf("%s: %d of %d teeth, %d hidden, %d unseen", c.name, len(m.ToothList), passed, hidden(m), m.Unseen)
		}
	}
}
