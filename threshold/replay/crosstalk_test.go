package replay

import (
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// The cam's teeth pull single teeth of the crank wheel under a high table, in
// every second turn; nothing else is to blame.
func TestCrossTalkHidesTeeth(t *testing.T) {
	s, err := simulate.FindScenario("cross-talk")
	if err != nil {
		t.Fatal(err)
	}
	rig := s.Captures[0]
	s.Name, rig.Name = "hidden", "hidden teeth"
	for i := range rig.Sensors {
		sensor := &rig.Sensors[i]
		sensor.CrossS = 0
		if sensor.Name == captures.Crank {
			sensor.CrossS = 7e-5
		}
	}
	table := simulate.Table{Sensor: captures.Crank, Rows: []simulate.Row{
		{RPM: 0, ThresholdV: 0.2}, {RPM: 1000, ThresholdV: 2.2}, {RPM: 3000, ThresholdV: 6.6}, {RPM: 7000, ThresholdV: 13},
	}}
	s.Tables = []simulate.Table{table, {Sensor: captures.Cam, Rows: s.Tables[1].Rows}}
	res, _ := examined(t, s, rig, table)
	checkCause(t, s.Name, res, CrossTalk)
	checkCounts(t, s.Name, res, s, rig, table)
	if res.Missed == 0 {
		t.Error("no tooth is missed")
	}
}
