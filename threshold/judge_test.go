package threshold

import (
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
)

// plainly is a table's threshold at a speed, written down once more.
func plainly(t Table, rpm float64) float64 {
	last := t.Rows[0]
	for _, row := range t.Rows {
		if row.RPM > rpm {
			if t.BetweenRows == Step || last.RPM > rpm {
				break
			}
			return last.ThresholdV.Value + (row.ThresholdV.Value-last.ThresholdV.Value)*(rpm-last.RPM)/(row.RPM-last.RPM)
		}
		last = row
	}
	return last.ThresholdV.Value
}

// randomTable has rows anywhere, at times above the limit, and thresholds from
// far too low to far too high.
func randomTable(r *rand.Rand, s *Sensor) Table {
	var rows []Row
	rpm := 0.0
	for range 1 + r.IntN(12) {
		if r.IntN(3) > 0 || len(rows) > 0 {
			rpm += math.Round(50 + 1200*r.Float64()*r.Float64()*2)
		}
		v := (0.2 + r.Float64()) * 0.6 * s.WeakestV(math.Max(rpm, s.Options.CrankingLowRPM))
		rows = append(rows, Row{RPM: rpm, ThresholdV: captures.Some(v)})
	}
	return NewTable(rows, s.Options.Input.BetweenRows)
}

// TestJudgeAtEverySpeed compares the margins with those at every single rpm.
func TestJudgeAtEverySpeed(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	for range 40 {
		s := invent(r).sensor(t)
		table := randomTable(r, s)
		signal, noise := math.Inf(1), math.Inf(1)
		worst := Clear
		for rpm := 0.0; rpm <= s.LimitRPM; rpm++ {
			w, v := s.Window(rpm), plainly(table, rpm)
			if rpm >= s.Options.CrankingLowRPM {
				signal = math.Min(signal, w.WeakestV/v)
			}
			if w.NoiseV.Known {
				noise = math.Min(noise, v/w.NoiseV.Value)
			}
			worst = max(worst, plainVerdict(s, w, v))
		}
		j := s.Judge(table)
		gotSignal, gotNoise := math.Inf(1), math.Inf(1)
		for _, row := range j.Rows {
			gotSignal = math.Min(gotSignal, row.SignalMargin.Or(math.Inf(1)))
			gotNoise = math.Min(gotNoise, row.NoiseMargin.Or(math.Inf(1)))
		}
		near(t, "signal margin", gotSignal, signal, 0.01)
		if s.NoiseKnown() {
			near(t, "noise margin", gotNoise, noise, 0.01)
		}
		if j.Verdict < worst {
			t.Errorf("judged %v where some speed is %v", j.Verdict, worst)
		}
	}
}

// plainVerdict leaves what lies within 1 % of a border to either side.
func plainVerdict(s *Sensor, w Window, v float64) Verdict {
	verdict := Clear
	count := func(margin, target float64) {
		switch {
		case margin < 0.99:
			verdict = Fails
		case margin < 0.99*target:
			verdict = max(verdict, Thin)
		}
	}
	if w.RPM >= s.Options.CrankingLowRPM {
		count(w.WeakestV/v, w.SignalTarget)
	}
	if w.NoiseV.Value > 0 {
		count(v/w.NoiseV.Value, s.Options.Noise)
	}
	unmeasured := s.Curve.LowRPM > 1.5*s.Options.CrankingRPM && len(s.weakest.whileCranking) == 0 && w.RPM < s.Curve.LowRPM/1.25
	if !w.NoiseV.Known && verdict < Unproven || unmeasured && verdict > Unproven {
		verdict = Unproven
	}
	return verdict
}

// The targets of a table: as stated while cranking and at speed, in a straight
// line between 1.5 and 3 times cranking.
func TestTargets(t *testing.T) {
	s := measured(t, DefaultOptions(), captures.Reading{NoiseV: captures.Some(0.01)})
	for rpm, want := range map[float64]float64{150: 1.5, 300: 1.5, 450: 1.75, 600: 2, 6000: 2} {
		near(t, "target", s.Window(rpm).SignalTarget, want, 1e-12)
	}
	unknown := measured(t, DefaultOptions())
	for rpm, want := range map[float64]float64{200: 1.1, 300: 1.1, 450: 1.55, 600: 2} {
		near(t, "target without noise", unknown.Window(rpm).SignalTarget, want, 1e-12)
	}
}

func TestRowsThatAreNotJudged(t *testing.T) {
	o := DefaultOptions()
	o.LimitRPM = captures.Some(5000.0)
	s := measured(t, o, captures.Reading{NoiseV: captures.Some(0.01)})
	row := func(rpm, v float64) Row { return Row{RPM: rpm, ThresholdV: captures.Some(v)} }
	j := s.Judge(NewTable([]Row{row(0, 0.1), row(200, 0.15), row(5000, 5), row(9000, 40)}, Linear))
	if top := j.Rows[3]; top.Verdict != Unproven || top.SignalMargin.Known {
		t.Errorf("above the limit %v with a margin of %v", top.Verdict, top.SignalMargin)
	}

	// 0 V arms on anything, whatever is known of the noise.
	for _, s := range []*Sensor{s, measured(t, o)} {
		j := s.Judge(NewTable([]Row{row(0, 0), row(1000, 1)}, Linear))
		if j.Verdict != Fails || j.Rows[0].NoiseMargin != captures.Some(0) {
			t.Errorf("0 V is %v with a noise margin of %v", j.Verdict, j.Rows[0].NoiseMargin)
		}
	}
	if j := s.Judge(Table{}); j.Verdict != Fails {
		t.Errorf("a table without rows is %v", j.Verdict)
	}
}
