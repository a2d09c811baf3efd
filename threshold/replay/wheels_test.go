package replay

import (
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// elsewhere is a scenario on another wheel.
type elsewhere struct {
	scenario, wheel string
	change          func(*simulate.Sensor)
	rows            []simulate.Row
}

// The cause is the true one, and the counts are right, on wheels of few teeth
// and of many.
func TestOtherWheels(t *testing.T) {
	narrowSparks := func(s *simulate.Sensor) {
		s.Sparks[0].AnglesDeg = []float64{66, 246, 426, 606}
		s.Sparks[0].HeightV = 30
	}
	sparksOn := []simulate.Row{{RPM: 0, ThresholdV: 0.15}, {RPM: 500, ThresholdV: 0.3}, {RPM: 2000, ThresholdV: 1}, {RPM: 7000, ThresholdV: 3}}
	short := func(tooth int) func(*simulate.Sensor) {
		return func(s *simulate.Sensor) { s.Short[0].Tooth = tooth }
	}
	shortOn := []simulate.Row{{RPM: 0, ThresholdV: 0.2}, {RPM: 200, ThresholdV: 0.2}, {RPM: 1000, ThresholdV: 1}, {RPM: 3000, ThresholdV: 4}, {RPM: 7000, ThresholdV: 9}}
	steepOn := []simulate.Row{{RPM: 0, ThresholdV: 0.2}, {RPM: 200, ThresholdV: 0.3}, {RPM: 1000, ThresholdV: 2}, {RPM: 3000, ThresholdV: 6}, {RPM: 7000, ThresholdV: 13}}
	for _, e := range []elsewhere{
		{"ignition-spikes", "12-1", narrowSparks, sparksOn},
		{"ignition-spikes", "24-1", narrowSparks, sparksOn},
		{"ignition-spikes", "30-1", narrowSparks, sparksOn},
		{"short-tooth", "12-1", short(6), shortOn},
		{"short-tooth", "18-1", short(9), steepOn},
	} {
		e.check(t)
	}
}

func (e elsewhere) check(t *testing.T) {
	t.Helper()
	s, err := simulate.FindScenario(e.scenario)
	if err != nil {
		t.Fatal(err)
	}
	rig := s.Captures[0]
	if rig.Sensors[0].Wheel, err = captures.ParseWheel(e.wheel); err != nil {
		t.Fatal(err)
	}
	rig.Name += " " + e.wheel
	s.Setup.CrankWheel = e.wheel
	if e.change != nil {
		e.change(&rig.Sensors[0])
	}
	table := simulate.Table{Sensor: captures.Crank, Rows: e.rows}
	res, _ := examined(t, s, rig, table)
	name := e.scenario + ", " + e.wheel
	checkCause(t, name, res, s.Cause)
	checkCounts(t, name, res, s, rig, table)
}
