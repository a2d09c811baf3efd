package cli

import (
	"encoding/json"
	"os"
	"slices"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// TestOwnCam: a cam's channel that shows little but the crank's wave, all along or towards
// the top of a pull, is played over the cam's own teeth: each is counted, and the crank's
// are false events of cross-talk.
func TestOwnCam(t *testing.T) {
	s, err := simulate.FindScenario("cross-talk")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		speed   simulate.Profile
		lengthS float64
		times   float64 // the scenario's coupling
	}{
		{simulate.Steady(3000), 2, 20},
		{simulate.Pull(800, 5000, 4), 4, 18},
	} {
		g := s.Captures[0]
		g.Speed, g.LengthS, g.Sensors = c.speed, c.lengthS, slices.Clone(g.Sensors)
		g.Sensors[1].CrossS *= c.times
		if g.Sensors[0].Wheel, err = captures.ParseWheel("36-1"); err != nil {
			t.Fatal(err)
		}
		checkOwnCam(t, g)
	}
}

func checkOwnCam(t *testing.T, g simulate.Rig) {
	t.Helper()
	folderOf(t, nil)
	f, err := os.Create("both.csv")
	if err != nil {
		t.Fatal(err)
	}
	source, err := simulate.Open(g)
	if err != nil {
		t.Fatal(err)
	}
	teeth := 0
	source.Watch(func(tooth simulate.Tooth) {
		if tooth.Sensor == "cam" {
			teeth++
		}
	})
	if err := simulate.WriteCSV(f, source); err != nil {
		t.Fatal(err)
	}
	f.Close()
	code, out, stderr := run("investigate", "both.csv", "--channel", "crank=crank,cam=cam", "--sensor", "cam", "--table", "0=0.2,1000=0.3,7000=0.8", "--format", "json")
	var got struct {
		Captures []struct {
			Sensor                  string
			Expected, Missed, False *int
			Causes                  []struct{ Kind string }
		}
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || code != 1 {
		t.Fatalf("%d %v %s", code, err, stderr)
	}
	for _, c := range got.Captures {
		if c.Sensor != "cam" {
			continue
		}
		if c.Expected == nil || *c.Expected < teeth-2 || *c.Expected > teeth || *c.Missed > 1 || *c.False < teeth {
			t.Fatalf("of %d teeth: %s", teeth, out)
		}
		if len(c.Causes) == 0 || c.Causes[0].Kind != "cross-talk" {
			t.Errorf("%+v", c.Causes)
		}
	}
}
