package simulate

import (
	"bytes"
	"io"
	"math"
	"strings"
	"testing"
)

// plainReplay is a comparator in its plainest form, only to see that a scenario
// shows what it is meant to: it arms above the table at the true mean speed and
// fires at the next fall through zero. An event further than 0.3 pitch from
// every tooth, or a second one at a tooth, is false.
type plainReplay struct {
	missed, falseEvents         int
	firstMissRPM, firstFalseRPM float64
}

func replayPlainly(rig Rig, sensor *Sensor, v []float64, teeth []Tooth, table Table) plainReplay {
	var out plainReplay
	events := plainEvents(rig, v, table)
	next := 0
	for _, tooth := range teeth {
		if tooth.Sensor != sensor.Name {
			continue
		}
		reachS := 0.3 * sensor.detail() / (tooth.RPM / 60 * sensor.perCrank())
		hits := 0
		for ; next < len(events) && events[next] <= tooth.TimeS+reachS; next++ {
			if events[next] >= tooth.TimeS-reachS {
				hits++
			} else if out.falseEvents++; out.firstFalseRPM == 0 {
				out.firstFalseRPM = tooth.RPM
			}
		}
		if hits == 0 {
			if out.missed++; out.firstMissRPM == 0 {
				out.firstMissRPM = tooth.RPM
			}
		}
		if hits > 1 {
			if out.falseEvents += hits - 1; out.firstFalseRPM == 0 {
				out.firstFalseRPM = tooth.RPM
			}
		}
	}
	return out
}

func plainEvents(rig Rig, v []float64, table Table) []float64 {
	mean := newMotion(rig.Speed, Ripple{})
	var events []float64
	armed := false
	for i := 1; i < len(v); i++ {
		atS := float64(i) / rig.SampleHz
		_, turnsPerS := mean.at(atS)
		armed = armed || v[i] > table.At(60*turnsPerS)
		if armed && v[i] <= 0 {
			armed = false
			events = append(events, atS-v[i]/(v[i]-v[i-1])/rig.SampleHz)
		}
	}
	return events
}

// expected is what the plain replay must find on the sensor with the cause: at
// least so many teeth missed and events false, the first between two speeds.
// Those without an entry must show none at all, or cannot be replayed.
var expected = map[string]struct {
	missed, falseEvents int
	fromRPM, toRPM      float64
}{
	"roll-off":        {3500, 0, 4600, 5100},
	"ignition-spikes": {0, 80, 4200, 4900},
	"low-table":       {0, 80, 850, 1500},
	"cranking-dip":    {4, 0, 80, 140},
	"starter-noise":   {0, 20, 100, 280},
	"too-noisy":       {0, 1000, 100, 280},
	"run-out":         {500, 0, 5300, 5900},
	"short-tooth":     {100, 0, 4200, 4700},
	"gap-hump":        {0, 190, 850, 1000},
	"gap-lobe":        {180, 0, 1300, 1600},
	"dropout":         {100, 0, 2300, 2800},
	"clipped":         {4400, 0, 4200, 4600},
	"alternator":      {0, 100, 1200, 1500},
	"fixed-tone":      {0, 250, 850, 950},
	"injector":        {0, 100, 2300, 3300},
	"coarse":          {80, 0, 6000, 7000},
	"cross-talk":      {0, 3000, 2800, 3300},
}

// cannotReplay are those whose falls are not where the wheel as stated has its
// teeth.
var cannotReplay = map[string]bool{"reversed": true, "slotted-wheel": true, "square": true}

func TestScenariosShowWhatTheyAreMeantTo(t *testing.T) {
	for _, s := range Scenarios() {
		for _, rig := range s.Captures {
			wave, teeth := record(t, rig, 1<<14)
			for _, table := range s.Tables {
				for i := range rig.Sensors {
					if rig.Sensors[i].Name == table.Sensor && !cannotReplay[s.Name] {
						checkReplay(t, s, rig, replayPlainly(rig, &rig.Sensors[i], wave[i], teeth, table), table.Sensor)
					}
				}
			}
		}
	}
}

// What the dropouts take from the wave is what the replay misses, but for a
// tooth at the edge of each.
func TestUnseenTeethAreTheOnesMissed(t *testing.T) {
	s, err := FindScenario("dropout")
	if err != nil {
		t.Fatal(err)
	}
	rig := s.Captures[0]
	wave, teeth := record(t, rig, 1<<14)
	unseen := 0
	for _, tooth := range teeth {
		if tooth.Unseen {
			unseen++
		}
	}
	got := replayPlainly(rig, &rig.Sensors[0], wave[0], teeth, s.Tables[0])
	if d := got.missed - unseen; d < -len(rig.Sensors[0].Dropouts) || d > len(rig.Sensors[0].Dropouts) {
		t.Errorf("%d missed, %d unseen", got.missed, unseen)
	}
}

func checkReplay(t *testing.T, s Scenario, rig Rig, got plainReplay, sensor string) {
	t.Helper()
	want, faulty := expected[s.Name]
	if !faulty || sensor != s.Sensor {
		if got.missed > 0 || got.falseEvents > 1 { // one at the very beginning may lack its tooth
			t.Errorf("%s, %s, %s: %+v, want nothing", s.Name, rig.Name, sensor, got)
		}
		return
	}
	first := got.firstMissRPM
	if want.falseEvents > 0 {
		first = got.firstFalseRPM
	}
	if got.missed < want.missed || got.falseEvents < want.falseEvents || first < want.fromRPM || first > want.toRPM {
		t.Errorf("%s: %+v, want %+v", s.Name, got, want)
	}
}

// Names are fit for files and unique, every capture has its sensors' tables, a
// sound setup and a size that is easily kept.
func TestScenariosAreWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range Scenarios() {
		if seen[s.Name] || s.Name == "" || strings.ContainsAny(s.Name, " /.") {
			t.Errorf("name %q", s.Name)
		}
		seen[s.Name] = true
		if !strings.HasSuffix(s.Text, ".") || len(s.Captures) == 0 || len(s.Tables) == 0 {
			t.Errorf("%s: %q, %d captures, %d tables", s.Name, s.Text, len(s.Captures), len(s.Tables))
		}
		if _, isFaulty := expected[s.Name]; isFaulty && s.Cause == "" {
			t.Errorf("%s has no cause", s.Name)
		}
		if s.Setup.CrankingRPM <= 0 || s.Setup.LimitRPM < s.Captures[0].Speed.MaxRPM() {
			t.Errorf("%s: setup %+v", s.Name, s.Setup)
		}
		for _, rig := range s.Captures {
			if size := int(rig.LengthS*rig.SampleHz) * (9 + 9*len(rig.Sensors)); size > 10e6 {
				t.Errorf("%s: %s has some %d bytes, want at most 10 MB", s.Name, rig.Name, size)
			}
		}
		if found, err := FindScenario(s.Name); err != nil || found.Name != s.Name {
			t.Errorf("%s: %v", s.Name, err)
		}
	}
	if _, err := FindScenario("none"); err == nil {
		t.Error("a scenario that is not there was found")
	}
}

// The largest capture written is under 10 MB.
func TestLargestCaptureWritten(t *testing.T) {
	s, err := FindScenario("crank-and-cam")
	if err != nil {
		t.Fatal(err)
	}
	source, err := Open(s.Captures[0])
	if err != nil {
		t.Fatal(err)
	}
	var size counter
	if err := WriteCSV(&size, source); err != nil {
		t.Fatal(err)
	}
	if size < 3e6 || size > 10e6 {
		t.Errorf("%d bytes, want 3 to 10 MB", size)
	}
}

type counter int64

func (c *counter) Write(p []byte) (int, error) {
	*c += counter(len(p))
	return len(p), nil
}

var _ io.Writer = (*counter)(nil)

func TestTable(t *testing.T) {
	table := Table{Rows: []Row{{200, 0.4}, {1000, 2}}}
	for rpm, want := range map[float64]float64{0: 0.4, 200: 0.4, 600: 1.2, 1000: 2, 9000: 2} {
		if got := table.At(rpm); math.Abs(got-want) > 1e-12 {
			t.Errorf("at %g rpm: %g V, want %g V", rpm, got, want)
		}
	}
	if got := (Table{}).At(1000); !math.IsNaN(got) {
		t.Errorf("without rows %g V, want none", got)
	}
	var out bytes.Buffer
	if err := table.WriteCSV(&out); err != nil {
		t.Fatal(err)
	}
	if got, want := out.String(), "rpm,threshold_v\n200,0.4\n1000,2\n"; got != want {
		t.Errorf("written %q, want %q", got, want)
	}
}
