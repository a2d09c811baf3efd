package threshold

import (
	"math"
	"math/rand/v2"
	"strings"
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
			signal = math.Min(signal, s.WeakestV(math.Max(rpm, s.Options.CrankingLowRPM))/v)
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

// TestWorstOfARow wants the row's verdict where it is said to be worst, which is
// said in tenths.
func TestWorstOfARow(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 18))
	for range 100 {
		s := invent(r).sensor(t)
		table := randomTable(r, s)
		for _, row := range s.Judge(table).Rows {
			if row.RPM > s.LimitRPM || !row.SignalMargin.Known {
				continue
			}
			is := false
			for _, off := range []float64{-0.05, 0, 0.05} {
				w := s.Window(min(max(0, row.WorstRPM+off), s.LimitRPM))
				is = is || w.judgeAt(table).verdict == row.Verdict
			}
			if !is {
				t.Errorf("the row of %g rpm is %v, but not at %g rpm where it is worst", row.RPM, row.Verdict, row.WorstRPM)
			}
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
	count(s.WeakestV(math.Max(w.RPM, s.Options.CrankingLowRPM))/v, w.SignalTarget)
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

// TestFirstTeeth: until the wheel has turned once the input believes 0 rpm, and
// while it is spun up less than cranking. So the thresholds there have to let
// the first teeth of a cranking engine pass.
func TestFirstTeeth(t *testing.T) {
	s := measured(t, DefaultOptions(), captures.Reading{NoiseV: captures.Some(0.002)})
	low := s.Options.CrankingLowRPM
	firstV := s.WeakestV(low)
	row := func(rpm, v float64) Row { return Row{RPM: rpm, ThresholdV: captures.Some(v)} }
	good := s.Propose()
	for _, between := range []BetweenRows{Linear, Step} {
		for i, rpm := range []float64{0, low / 2} {
			rows := append([]Row{row(0, good.Rows[0].ThresholdV.Value)}, good.Rows[1:]...)
			if rpm > 0 {
				rows = append(rows, row(rpm, 0))
			}
			table := NewTable(rows, between)
			table.Rows[i].ThresholdV = captures.Some(firstV / 1.2)
			if v := s.Judge(table).Verdict; v != Thin {
				t.Errorf("%s: %v where the first tooth is 1.2 × the threshold at %v rpm", between, v, rpm)
			}
			table.Rows[i].ThresholdV = captures.Some(5 * firstV)
			r := s.Check(table)
			if w := r.Judgement.Worst; r.Judgement.Verdict != Fails || w.RPM != rpm {
				t.Errorf("%s: %v, worst at %v rpm, where no first tooth passes the threshold at %v rpm", between, r.Judgement.Verdict, w.RPM, rpm)
			}
			near(t, "margin", r.Judgement.Rows[i].SignalMargin.Value, 0.2, 1e-9)
			if f := r.Findings[0]; f.Kind != ThinSignal || !strings.Contains(f.Advice, "until the wheel has turned once") {
				t.Errorf("%s: the first finding is %s: %s", between, f.Kind, f.Advice)
			}
		}
	}

	// Where the margins are alike, the worst is where the engine turns.
	if w := s.Judge(good).Worst; w.RPM != 0 && w.RPM < low {
		t.Errorf("worst at %v rpm", w.RPM)
	}
	high := NewTable([]Row{row(0, firstV), row(low, firstV), row(2*low, 1.2*firstV), row(6000, 2*firstV)}, Linear)
	if w := s.Judge(high).Worst; w.RPM != low {
		t.Errorf("worst at %v rpm, want %v", w.RPM, low)
	}
}

// TestWorstRightBelowARow: where a row is held up to the next, the worst speed is
// one at which the table still holds it.
func TestWorstRightBelowARow(t *testing.T) {
	s := measured(t, DefaultOptions(), captures.Reading{NoiseV: captures.Some(0.01)}, captures.Reading{RPM: 6000, NoiseV: captures.Some(0.5)})
	row := func(rpm, v float64) Row { return Row{RPM: rpm, ThresholdV: captures.Some(v)} }
	table := NewTable([]Row{row(0, 0.1), row(1000, 0.6), row(6000, 6)}, Step)
	s.Options.Input.BetweenRows = Step
	w := s.Judge(table).Worst
	if at := table.At(w.RPM).Value; w.RPM != 999.9 || math.Abs(w.NoiseMargin.Value*s.Window(w.RPM).NoiseV.Value-at) > 1e-3 {
		t.Errorf("worst at %v rpm, noise margin %v, threshold %v V", w.RPM, w.NoiseMargin, at)
	}
	for rpm, want := range map[float64]float64{1000: 1000, math.Nextafter(1000, 0): 999.9, math.Nextafter(1000, 2000): 1000, 660.34: 660.3, 0: 0} {
		if got := Step.tidyRPM(rpm); got != want {
			t.Errorf("%v is %v, want %v", rpm, got, want)
		}
		if got := Linear.tidyRPM(rpm); got != math.Round(rpm*10)/10 {
			t.Errorf("%v is %v in straight lines", rpm, got)
		}
	}
}

// TestDecisive: the speed that a verdict is given for is one that has it.
func TestDecisive(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 16))
	apart := 0
	for range 200 {
		s := invent(r).sensor(t)
		table := randomTable(r, s)
		j := s.Judge(table)
		m := s.Window(j.Decisive.RPM).judgeAt(table)
		if j.Verdict == Fails && !(m.signal.Or(2) < 1.01 || m.noise.Or(2) < 1.01) {
			t.Errorf("fails, decided at %v rpm with margins of %v and %v", j.Decisive.RPM, m.signal, m.noise)
		}
		if j.Decisive.RPM != j.Worst.RPM {
			apart++
		}
		if j.Decisive.Score < j.Worst.Score {
			t.Errorf("decided by a score of %v, the worst is %v", j.Decisive.Score, j.Worst.Score)
		}
	}
	t.Logf("%d of 200 are decided elsewhere than at the worst speed", apart)
}
