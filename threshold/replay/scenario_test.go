package replay

import (
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
	"armcurve/captures/teeth"
	"armcurve/threshold"
)

// tape passes what is measured on to a replay.
type tape struct{ r *Replay }

func (t tape) Wave(first int64, v []float64) { t.r.Wave(first, v) }
func (t tape) Tooth(p teeth.Passage)         { t.r.Tooth(p.Tooth, p.Seen, p.At, p.RestV) }

func tableOf(rows []simulate.Row) threshold.Table {
	var out []threshold.Row
	for _, row := range rows {
		out = append(out, threshold.Row{RPM: row.RPM, ThresholdV: captures.Some(row.ThresholdV)})
	}
	return threshold.NewTable(out, threshold.Linear)
}

// play measures a capture of a scenario and replays it.
func play(t testing.TB, s simulate.Scenario, rig simulate.Rig, table simulate.Table, change func(*Options)) (*Replay, teeth.Measurement) {
	t.Helper()
	source, err := simulate.Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	channel := 0
	for i, sensor := range rig.Sensors {
		if sensor.Name == table.Sensor {
			channel = i
		}
	}
	stated := s.Setup.CrankWheel
	if table.Sensor == captures.Cam {
		stated = s.Setup.CamWheel
	}
	o := Options{Tables: []threshold.Table{tableOf(table.Rows)}, OnCam: rig.Sensors[channel].OnCam, CrankingRPM: s.Setup.CrankingRPM, KeepTeeth: true}
	if stated != "" {
		if o.Wheel, err = captures.ParseWheel(stated); err != nil {
			t.Fatal(err)
		}
	}
	if change != nil {
		change(&o)
	}
	r, err := New(source.Info(), o)
	if err != nil {
		t.Fatal(err)
	}
	m, err := teeth.Measure(source, teeth.Options{
		Channel: channel, Sensor: table.Sensor, OnCam: o.OnCam, Wheel: o.Wheel, CrankingRPM: o.CrankingRPM, Watch: tape{r},
	})
	if err != nil {
		t.Fatal(err)
	}
	r.End()
	return r, m
}

// factsOf passes on what measuring told.
func factsOf(m teeth.Measurement) Facts {
	return Facts{
		Signal: m.Signal, SignalWhy: m.SignalWhy, Reversed: m.Polarity == teeth.Reversed, PolarityWhy: m.PolarityWhy,
		WheelDiffers: m.Stated.Known() && m.Wheel.Known() && m.Wheel.TeethPresent() != m.Stated.TeethPresent(), WheelWhy: m.WheelWhy,
	}
}

func TestExplore(t *testing.T) {
	for _, s := range simulate.Scenarios() {
		for _, rig := range s.Captures {
			var other *Replay
			for _, table := range s.Tables {
				r, m := play(t, s, rig, table, nil)
				facts := factsOf(m)
				if other != nil {
					facts.Other, facts.OtherName = other.Crossings(), "crank"
				}
				other = r
				res, err := r.Result(0, facts)
				if err != nil {
					t.Fatal(err)
				}
				t.Logf("== %s %s %s want %q: %v %+v first %.0f", s.Name, rig.Name, table.Sensor, s.Cause, res.Verdict, res.Counts, res.FirstFaultRPM.Value)
				for _, c := range res.Causes {
					t.Logf("   %s %.2f: %s. %s. %s.", c.Kind, c.Share, c.Evidence, c.Advice, c.Not)
				}
				if s.Cause != "" {
					for _, c := range res.Excluded {
						t.Logf("      no %s: %s", c.Kind, c.Evidence)
					}
				}
			}
		}
	}
}
