package cli

import (
	"strings"
	"testing"

	"armcurve/captures"
	"armcurve/cmd/internal/setup"
	"armcurve/threshold"
)

func peak(condition string, as captures.Quantity) captures.Reading {
	return captures.Reading{Pos: captures.Pos{File: "r.csv", Line: 2}, RPM: 3000, PeakV: captures.Some(5), Condition: condition, ReadAs: as}
}

func TestKnownCondition(t *testing.T) {
	both := []captures.Reading{peak("unplugged", captures.Peak), peak("connected", captures.Peak), {NoiseV: captures.Some(1), Condition: "rain"}}
	for condition, want := range map[string]string{
		"": "", "unplugged": "", "connected": "",
		"Connected": `--condition: found "Connected"; want one that a reading of a peak names: connected, unplugged`,
		"rain":      `--condition: found "rain"; want one that a reading of a peak names: connected, unplugged`,
	} {
		if err := knownCondition(both, condition); (err == nil) != (want == "") || err != nil && err.Error() != want {
			t.Errorf("%q: %v; want %q", condition, err, want)
		}
	}
	if err := knownCondition([]captures.Reading{peak("", captures.Peak)}, "x"); err == nil || !strings.Contains(err.Error(), "want none") {
		t.Errorf("where none is named: %v", err)
	}
}

// sensorWith is a sensor whose wheel was stated.
func sensorWith(t *testing.T, wheel, shaft string) *setup.Sensor {
	t.Helper()
	s := &setup.Sensor{Options: threshold.DefaultOptions()}
	s.Shaft = shaft
	if wheel != "" {
		var err error
		if s.Wheel, err = captures.ParseWheel(wheel); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

func TestMeterDoubt(t *testing.T) {
	for _, c := range []struct {
		as           captures.Quantity
		wheel, shaft string
		told         string // part of the finding; "" for none
		refused      bool
	}{
		{captures.Peak, "4", captures.Crank, "", false},
		{captures.PeakToPeak, "4", captures.Crank, "", false},
		{captures.RMS, "", captures.Crank, "too fast for it", false},
		{captures.RMS, "60-2", captures.Crank, "(at 3000 rpm 3000 teeth pass in a second)", false},
		{captures.RMS, "60-2", captures.Cam, "(at 3000 rpm 1500 teeth pass in a second)", false},
		{captures.RMS, "8", captures.Crank, "(at 3000 rpm 400 teeth pass in a second)", false},
		{captures.RMS, "8-1", captures.Crank, "", true},
		{captures.RMS, "7", captures.Crank, "", true},
		{captures.RMS, "@0,180,420", captures.Cam, "", true},
	} {
		findings, err := meterDoubt([]captures.Reading{peak("", c.as)}, sensorWith(t, c.wheel, c.shaft))
		text := ""
		for _, f := range findings {
			text += f.Text
		}
		if (err != nil) != c.refused || (text == "") != (c.told == "") || !strings.Contains(text, c.told) {
			t.Errorf("%v of a wheel %q on the %s: %q, %v", c.as, c.wheel, c.shaft, text, err)
		}
		if c.refused && !strings.HasPrefix(err.Error(), "r.csv:2: rms values of a wheel with ") {
			t.Errorf("refused with %v", err)
		}
	}
}

// A table that says whose it is goes to that sensor, one that does not to the
// only one there is.
func TestTableFits(t *testing.T) {
	folderOf(t, map[string]string{
		"plain.csv": goodTable,
		"both.csv":  "sensor,rpm,threshold_v\ncrank,0,0.1\ncam,0,0.2\ncam,500,0.3\n",
		"cam.csv":   "sensor,rpm,threshold_v\ncam,0,0.2\ncam,500,0.3\n",
	})
	crank, both := []string{captures.Crank}, []string{captures.Crank, captures.Cam}
	for _, c := range []struct {
		table   string
		sensors []string
		want    string // of the error
		told    int
	}{
		{"plain.csv", crank, "", 0},
		{"plain.csv", both, "plain.csv does not say whether it is for the crank or the cam, and the readings speak of both", 0},
		{"0=1,500=2", both, "--table does not say whether it is for the crank or the cam, and the readings speak of both", 0},
		{"both.csv", both, "", 0},
		{"both.csv", crank, "", 1},
		{"cam.csv", crank, "cam.csv: no row for the crank, which the readings speak of", 0},
	} {
		given, err := readTable(c.table, &setup.Setup{})
		if err != nil {
			t.Fatal(err)
		}
		findings, err := given.fits(c.sensors)
		if (err == nil) != (c.want == "") || err != nil && err.Error() != c.want || len(findings) != c.told {
			t.Errorf("%s for %v: %v, %v", c.table, c.sensors, findings, err)
		}
	}
	given, err := readTable("both.csv", &setup.Setup{})
	if err != nil {
		t.Fatal(err)
	}
	sensor := sensorWith(t, "", captures.Cam)
	sensor.Input.BetweenRows = threshold.Step
	if table := given.of(sensor, captures.Cam); len(table.Rows) != 2 || table.Rows[1].ThresholdV != captures.Some(0.3) || table.BetweenRows != threshold.Step {
		t.Errorf("the cam's table is %v", table)
	}
}
