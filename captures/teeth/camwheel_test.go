package teeth

import (
	"math"
	"sync"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// TestCamWheel places a cam's teeth by the crank recorded beside it, however few
// they are and however the engine's speed ripples.
func TestCamWheel(t *testing.T) {
	for _, c := range []struct{ cam, want string }{
		{"1", "1"},
		{"@0,180,420", "@0,180,420"},
		{"@0,160,340,520", "@0,160,340,520"},
		{"4", "4"},
	} {
		for _, ripple := range []float64{0, 0.3} {
			g := rig(t, "36-1")
			g.Speed, g.LengthS = simulate.Steady(250), 4
			g.Ripple = simulate.Ripple{Share: ripple, AtRPM: 250, Cylinders: 4}
			cam := g.Sensors[0]
			cam.Name, cam.OnCam, cam.Wheel = captures.Cam, true, wheel(t, c.cam)
			g.Sensors = append(g.Sensors, cam)
			crank, beside := measureBoth(t, g)
			found, ok := CamWheel(beside, crank)
			if !ok || !likeWheel(found, wheel(t, c.want)) {
				t.Errorf("cam %s, ripple %g: found %q (%v), want %q", c.cam, ripple, found, ok, c.want)
			}
		}
	}
}

// likeWheel tells that angles are within a fifth of a crank degree.
func likeWheel(a, b captures.Wheel) bool {
	if a.Pitches != b.Pitches || len(a.AnglesDeg) != len(b.AnglesDeg) {
		return false
	}
	for i := range a.AnglesDeg {
		if math.Abs(a.AnglesDeg[i]-b.AnglesDeg[i]) > 0.2 {
			return false
		}
	}
	return true
}

// TestCamWheelRefuses takes nothing for a cam that does not turn with the crank.
func TestCamWheelRefuses(t *testing.T) {
	var turns []crankTurn
	for i := range 20 {
		at := 100 * float64(i)
		turns = append(turns, crankTurn{at: []float64{at, at + 50, at + 100}, parts: []float64{0, 0.5, 1}})
	}
	var teeth []float64
	for i := range 13 {
		teeth = append(teeth, 147*float64(i))
	}
	if w, ok := CamWheel(Measurement{firstTeeth: teeth}, Measurement{turns: turns}); ok {
		t.Errorf("found %s", w)
	}
	if _, ok := CamWheel(Measurement{firstTeeth: teeth}, Measurement{turns: turns[:5]}); ok {
		t.Error("two cycles told a wheel")
	}
}

func measureBoth(t *testing.T, g simulate.Rig) (crank, cam Measurement) {
	t.Helper()
	source, err := simulate.Open(g)
	if err != nil {
		t.Fatal(err)
	}
	var measured [2]Measurement
	var done sync.WaitGroup
	for i, part := range captures.Split(source) {
		done.Go(func() {
			defer part.Close()
			m, err := Measure(part, Options{OnCam: i == 1})
			if err != nil {
				t.Error(err)
			}
			measured[i] = m
		})
	}
	done.Wait()
	return measured[0], measured[1]
}
