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

func TestExplore(t *testing.T) {
	for _, s := range simulate.Scenarios() {
		for _, rig := range s.Captures {
			for _, table := range s.Tables {
				r, m := play(t, s, rig, table, nil)
				c := r.inputs
				if len(c) == 0 {
					t.Logf("%s %s %s: nothing; signal %s polarity %s wheel %s", s.Name, rig.Name, table.Sensor, m.Signal, m.Polarity, m.Wheel)
					continue
				}
				res := c[0].result
				t.Logf("%-18s %-9s %-5s %+v unjudged %d kept %d×%d; %s %s %s teeth %d unseen %d (%s)", s.Name, rig.Name, table.Sensor, res.Counts, res.unjudged, len(res.faults.list), res.faults.each, m.Signal, m.Polarity, m.Wheel, m.Teeth, m.Unseen, s.Cause)
				n := map[flags]int{}
				lo := float32(1e9)
				for _, f := range res.faults.list {
					lo = min(lo, f.rpm)
					for b := flags(1); b <= coarse; b <<= 1 {
						if f.is(b) {
							n[b]++
						}
					}
				}
				t.Logf("    first %.0f rpm; false %d unseen %d collapsed %d besideDip %d flat %d inGap %d split %d follows %d standing %d coarse %d", lo, n[isFalse], n[isUnseen], n[collapsed], n[besideDip], n[flatTop], n[inGap], n[split], n[follows], n[standing], n[coarse])
				for i, f := range res.faults.list {
					if i%(len(res.faults.list)/4+1) == 0 {
						t.Logf("    %+v", f)
					}
				}
				for i, l := range r.tones.lines {
					if i%(len(r.tones.lines)/4+1) == 0 {
						t.Logf("    line %+v", l)
					}
				}
			}
		}
	}
}
