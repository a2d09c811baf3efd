package replay

import (
	"math"
	"strings"
	"testing"
	"unsafe"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// Every cause names what is true of its own scenario.
func TestEvidence(t *testing.T) {
	for _, c := range []struct {
		scenario, kind string
		says           []string
	}{
		{"roll-off", AmplitudeBelow, []string{"teeth rise to 7.", "the peaks grow 1."}},
		{"ignition-spikes", CrankLockedNoise, []string{"350…355°"}},
		{"injector", CrankLockedNoise, []string{"340…345°", "to the power of 0.9"}},
		{"low-table", NoiseAbove, []string{"without a fixed place or frequency"}},
		{"cranking-dip", CrankingDip, []string{"at 199 rpm", "threshold of 0.420 V"}},
		{"starter-noise", StarterNoise, []string{"threshold of 0.150 V"}},
		{"too-noisy", NoiseAbove, []string{"without a fixed place"}},
		{"short-tooth", ShortTooth, []string{"tooth 14 rises to 39 %"}},
		{"gap-lobe", GapLobe, []string{"tooth 58 rises to 8", "tooth 1 to 1"}},
		{"dropout", Dropout, []string{"7 bursts"}},
		{"clipped", Clipped, []string{"flat at 5.0"}},
		{"alternator", SpeedLockedNoise, []string{"43.2"}},
		{"fixed-tone", FixedFrequencyNoise, []string{"5300 Hz", "5301 Hz", "5302 Hz"}},
		{"coarse", CoarseSampling, []string{"samples in a pitch"}},
		{"cross-talk", CrossTalk, []string{"follows the crank sensor's wave"}},
	} {
		s, err := simulate.FindScenario(c.scenario)
		if err != nil {
			t.Fatal(err)
		}
		for _, table := range s.Tables {
			if table.Sensor != s.Sensor {
				continue
			}
			res, _ := examined(t, s, s.Captures[0], table)
			checkEvidence(t, c.scenario, res, c.kind, c.says)
		}
	}
}

// checkEvidence looks for the kind, its evidence and shares that add up. Of
// several frequencies one is enough.
func checkEvidence(t *testing.T, name string, res Result, kind string, says []string) {
	t.Helper()
	total := 0.0
	for _, c := range res.Causes {
		total += c.Share
		if c.Kind != Unexplained && (c.Share < leastShare || c.Advice == "") {
			t.Errorf("%s: %+v", name, c)
		}
	}
	if len(res.Causes) == 0 || math.Abs(total-1) > 1e-9 || res.Causes[0].Kind != kind {
		t.Errorf("%s: shares add up to %.3f: %+v", name, total, res.Causes)
		return
	}
	found := 0
	for _, text := range says {
		if strings.Contains(res.Causes[0].Evidence, text) {
			found++
		}
	}
	if found == 0 || found < len(says) && !strings.HasSuffix(says[0], "Hz") {
		t.Errorf("%s: %q, want %q", name, res.Causes[0].Evidence, says)
	}
	for _, x := range res.Excluded {
		if x.Evidence == "" {
			t.Errorf("%s: %s is excluded without evidence", name, x.Kind)
		}
		for _, c := range res.Causes {
			if c.Kind == x.Kind {
				t.Errorf("%s: %s is a cause and excluded", name, c.Kind)
			}
		}
	}
}

// What nothing is wrong with has no cause, whatever was seen of it.
func TestExclusive(t *testing.T) {
	for _, f := range []Facts{{Signal: "square"}, {Signal: "other"}, {Reversed: true}, {WheelDiffers: true}} {
		if c, is := exclusive(f); !is || c.Share != 1 || c.Advice == "" {
			t.Errorf("%+v: %+v", f, c)
		}
	}
	if c, is := exclusive(Facts{Signal: "reluctor"}); is {
		t.Errorf("a sound sensor: %+v", c)
	}
}

// However many faults there are, they take no more than there is room for, and those
// that are kept stand for all.
func TestFaultsAreFew(t *testing.T) {
	if size := unsafe.Sizeof(fault{}); size != faultBytes {
		t.Fatalf("a fault has %d bytes, want %d", size, faultBytes)
	}
	const room, many = 24 * 50000, 1000000
	var f faults
	for i := range many {
		f.add(fault{at: float64(i)}, room)
	}
	if n := len(f.list); n*faultBytes > room {
		t.Errorf("%d faults kept in %d bytes", n, room)
	}
	if all := int64(len(f.list)) * f.each; math.Abs(float64(all)/many-1) > 0.05 {
		t.Errorf("those kept stand for %d, want %d", all, many)
	}
	for i := 1; i < len(f.list); i++ {
		if f.list[i].at <= f.list[i-1].at {
			t.Fatal("out of order")
		}
	}
}

// Where a clean wave does not show the wheel that was stated, its channel is
// another's: nothing is counted.
func TestNoWheel(t *testing.T) {
	s, err := simulate.FindScenario("crank-and-cam")
	if err != nil {
		t.Fatal(err)
	}
	s.Setup.CamWheel = s.Setup.CrankWheel
	r, m := play(t, s, s.Captures[0], simulate.Table{Sensor: "cam", Rows: []simulate.Row{{RPM: 0, ThresholdV: 0.3}}}, nil)
	for _, stated := range []bool{true, false} {
		facts := factsOf(m)
		facts.NoWheel, facts.WheelStated = !m.Wheel.Known(), stated
		res, err := r.Result(0, facts)
		if err != nil {
			t.Fatal(err)
		}
		if isDifferent := len(res.Causes) == 1 && res.Causes[0].Kind == WheelDiffers; res.Countable || isDifferent != stated || res.Expected > 0 {
			t.Errorf("stated %v: %+v", stated, res)
		}
	}
}

// What the input's filter makes of a flat top is round; it is flat in the recording.
func TestClippedBehindFilter(t *testing.T) {
	s, err := simulate.FindScenario("clipped")
	if err != nil {
		t.Fatal(err)
	}
	r, m := play(t, s, s.Captures[0], s.Tables[0], func(o *Options) { o.FilterHz = captures.Some(8000) })
	res, err := r.Result(0, factsOf(m))
	if err != nil {
		t.Fatal(err)
	}
	checkEvidence(t, "clipped behind a filter", res, Clipped, []string{"flat at 5.0"})
}

// Turns that alternate in speed, as an odd number of cylinders makes them, have teeth that
// seem to alternate in height: where the tops are flat nothing else is asked.
func TestClippedInTurnsThatAlternate(t *testing.T) {
	s, err := simulate.FindScenario("clipped")
	if err != nil {
		t.Fatal(err)
	}
	r, m := play(t, s, s.Captures[0], s.Tables[0], nil)
	for k := range r.slots.ratio {
		for odd, height := range []float64{1, 0.9} {
			r.slots.ratio[k].turns[odd] = spread{n: 100, sum: 100 * height, squares: 100 * height * height}
		}
	}
	res, err := r.Result(0, factsOf(m))
	if err != nil {
		t.Fatal(err)
	}
	checkEvidence(t, "clipped in turns that alternate", res, Clipped, []string{"flat at 5.0"})
}
