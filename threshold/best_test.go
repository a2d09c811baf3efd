package threshold

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"armcurve/captures"
)

// randomFrame is a small table to fill in: two to four rows and a few windows,
// some of them too narrow, in coarse steps.
func randomFrame(r *rand.Rand) *frame {
	f := &frame{between: BetweenRows(r.IntN(2)), steps: steps{v: 0.25 + r.Float64(), min: 1 + r.IntN(2), max: 5 + r.IntN(5)}}
	for range 2 + r.IntN(3) {
		f.speeds = append(f.speeds, float64(100*r.IntN(60)))
	}
	slices.Sort(f.speeds)
	f.speeds = slices.Compact(f.speeds)
	lowRPM := f.speeds[0]
	if r.IntN(2) == 0 {
		lowRPM = f.speeds[len(f.speeds)/2]
	}
	room, noiseKnown := 0.7+9*r.Float64(), r.IntN(5) > 0
	window := func(rpm float64) Window {
		w := Window{
			RPM: rpm, SignalTarget: 1.1 + r.Float64(), NoiseTarget: 1.25, Measured: true, Turning: rpm >= lowRPM,
			WeakestV: f.steps.v * (1 + 6*math.Sqrt(rpm/6000)) * (0.7 + 0.6*r.Float64()),
		}
		if noiseKnown {
			w.NoiseV = captures.Some(w.WeakestV / room * (0.6 + 0.8*r.Float64()))
		}
		return w
	}
	for _, rpm := range f.speeds {
		f.windows = append(f.windows, window(rpm))
	}
	for range 12 {
		f.windows = append(f.windows, window(6500*r.Float64()))
	}
	slices.SortFunc(f.windows, func(a, b Window) int { return compareFloat(a.RPM, b.RPM) })
	for i, rpm := range f.speeds {
		if n := len(f.groups); n > 0 && rpm <= lowRPM {
			f.groups[n-1].last, f.groups[n-1].toRPM = i, rpm
			continue
		}
		aim := 1 + 5*r.Float64()
		if r.IntN(4) == 0 {
			aim = math.Round(aim*2) / 2 // makes ties
		}
		f.groups = append(f.groups, group{first: i, last: i, fromRPM: rpm, toRPM: rpm, aim: aim, weakest: 2 * aim, none: r.IntN(12) == 0})
	}
	f.close()
	return f
}

// every calls visit with the values of every table the frame can hold.
func (f *frame) every(visit func(values []float64)) {
	values := make([]float64, len(f.groups))
	var fill func(int)
	fill = func(i int) {
		if i == len(values) {
			visit(values)
			return
		}
		to := f.steps.max
		if f.groups[i].none {
			to = f.steps.min
		}
		for k := f.steps.min; k <= to; k++ {
			values[i] = float64(k)
			fill(i + 1)
		}
	}
	fill(0)
}

// partScores judges a table as every table is judged and gives the least score
// of every part, up to 1.
func (f *frame) partScores(t Table) []float64 {
	scores := make([]float64, len(f.scores))
	for i := range scores {
		scores[i] = 1
	}
	for _, w := range f.windows {
		if !t.At(w.RPM).Known {
			continue
		}
		part := f.partOf(w.RPM)
		scores[part] = min(scores[part], w.judgeAt(t).score)
	}
	return scores
}

// partOf is the part of the table that decides a speed.
func (f *frame) partOf(rpm float64) (part int) {
	for i, g := range f.groups {
		if rpm >= g.fromRPM {
			part = i
		}
		if f.between == Linear && i < len(f.links) && rpm > g.toRPM && rpm < f.groups[i+1].fromRPM {
			part = len(f.groups) + i
		}
	}
	return part
}

// outside tells of every part whether the table fails in an open window of it.
func (f *frame) outside(t Table) []bool {
	out := make([]bool, len(f.scores))
	for _, w := range f.windows {
		m := w.judgeAt(t)
		if t.At(w.RPM).Known && !w.closed() && (m.signal.Or(2) <= 1 || m.noise.Or(2) <= 1) {
			out[f.partOf(w.RPM)] = true
		}
	}
	return out
}

// compareOutside ranks tables by the first part, by speed, that fails in an open
// window in one of them alone.
func (f *frame) compareOutside(a, b []bool) int {
	for _, part := range f.parts() {
		switch {
		case !a[part] && b[part]:
			return -1
		case a[part] && !b[part]:
			return 1
		}
	}
	return 0
}

// staysInside tells whether a table is inside all windows that are to be kept.
func (f *frame) staysInside(outside []bool) bool {
	for part, out := range outside {
		if out && f.kept[part] > 0 && !f.besideNone(part) {
			return false
		}
	}
	return true
}

// worstScore is the least score of all judged speeds.
func (f *frame) worstScore(values []float64) float64 {
	t, worst := f.table(values), math.Inf(1)
	for _, w := range f.windows {
		if t.At(w.RPM).Known {
			worst = min(worst, w.judgeAt(t).score)
		}
	}
	return worst
}

// rank is what tables that reach the same scores are ranked by.
func (f *frame) rank(values []float64) (c cost, rough float64) {
	for i, g := range f.groups {
		c.distance += g.distance(values[i])
		if i > 0 {
			rough += f.roughness(i, values[i-1], values[i])
			if values[i] < values[i-1] {
				c = c.plus(f.falls(i))
			}
		}
	}
	return c, rough
}

// TestBestAgainstEveryTable compares with all tables there are.
func TestBestAgainstEveryTable(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 1))
	tables, missing := 0, 0
	const cases = 1500
	for n := range cases {
		f := randomFrame(r)
		most, mostInNoSteps := f.most(), f.mostBetween(sides{float64(f.steps.min), float64(f.steps.max)})
		f.raise()
		wanted := slices.Clone(f.scores)
		values := f.nearest()
		own, ownOutside := f.partScores(f.table(values)), f.outside(f.table(values))
		ownCost, ownRough := f.rank(values)
		worst := slices.Min(own)
		if worst < 1-1e-9 {
			missing++
		}
		for part, score := range own {
			if score < wanted[part]*(1-1e-8) {
				t.Fatalf("case %d: part %d has score %v, found to be possible: %v", n, part, score, wanted[part])
			}
		}
		found := 0.0
		f.every(func(other []float64) {
			tables++
			found = max(found, f.worstScore(other))
			scores, outside := f.partScores(f.table(other)), f.outside(f.table(other))
			if f.compareOutside(outside, ownOutside) < 0 {
				t.Fatalf("case %d: %v is outside open windows at %v, %v at %v", n, other, outside, values, ownOutside)
			}
			if !f.staysInside(outside) {
				return
			}
			if slices.Min(scores) > worst*(1+1e-8)+1e-9 {
				t.Fatalf("case %d: %v has worst score %v, better than %v with %v", n, other, slices.Min(scores), values, worst)
			}
			reaches, exceeds := true, false
			for part := range scores {
				reaches = reaches && scores[part] >= wanted[part]*(1-1e-10)
				exceeds = exceeds || scores[part] > max(wanted[part], leastScore)*clearlyBetter*(1+2*leastGain)
			}
			if reaches && exceeds {
				t.Fatalf("case %d: %v has scores %v, nowhere under and somewhere above %v with %v", n, other, scores, wanted, values)
			}
			c, rough := f.rank(other)
			if reaches && (c.less(ownCost) && !c.ties(ownCost) || c.ties(ownCost) && rough < ownRough-1e-9) {
				t.Fatalf("case %d: %v ranks %v, %v, before %v with %v, %v", n, other, c, rough, values, ownCost, ownRough)
			}
		})
		if !math.IsInf(most, 1) && !f.leavesOut() && (math.Abs(found-most) > 1e-8*most || mostInNoSteps < most*(1-1e-8)) {
			t.Fatalf("case %d: best score %v, in no steps %v, found %v", n, most, mostInNoSteps, found)
		}
	}
	t.Logf("%d cases, %d tables; in %d cases no table reaches every target", cases, tables, missing)
}

// TestBestAgainstRowByRow compares with the table of rows placed one by one:
// the worst score is never less, and where both reach every target and neither
// falls, what is farther from its aim is never nearer.
func TestBestAgainstRowByRow(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 2))
	const cases = 2000
	better, clear, clearer := 0, 0, 0
	for n := range cases {
		s := invent(r).sensor(t)
		speeds, _ := s.axis()
		if r.IntN(3) == 0 { // rows that cranking does not stand on
			speeds = []float64{0, 100 + 500*r.Float64(), 1000, 2000 + 2000*r.Float64(), 7000}
		}
		f := s.newFrame(speeds)
		f.raise()
		if values, ok := f.cheapest(); !ok {
			t.Errorf("sensor %d: no cheapest table, near is %v", n, values)
		}
		best, plain := s.proposeAt(speeds), s.tableRowByRow(speeds)
		a, b := s.Judge(best).Worst.Score, s.Judge(plain).Worst.Score
		if min(1, a) < min(1, b)*(1-1e-8) && !s.failsInOpenWindow(plain) {
			t.Fatalf("sensor %d: worst score %v, row by row %v\n%v\n%v", n, a, b, best, plain)
		}
		if min(1, a) > min(1, b)*(1+1e-6) {
			better++
		}
		if a >= 1-targetSlack {
			clear++
			if b < 1-targetSlack {
				clearer++
			} else if far, plainFar := s.far(best), s.far(plain); plainFar.less(far) && !far.ties(plainFar) {
				t.Errorf("sensor %d: %v from the aims, row by row %v\n%v\n%v", n, far, plainFar, best, plain)
			}
		}
	}
	t.Logf("%d sensors: worst score better in %d; all targets reached in %d, %d more than row by row", cases, better, clear, clearer)
}

// failsInOpenWindow tells whether a table lies outside a window that has room
// for a threshold.
func (s *Sensor) failsInOpenWindow(t Table) bool {
	return slices.ContainsFunc(s.newJudge(t.speedsRPM()).windows, func(w Window) bool {
		m := w.judgeAt(t)
		return !w.closed() && (m.signal.Or(2) <= 1 || m.noise.Or(2) <= 1)
	})
}

// far is how far from its aims a table is.
func (s *Sensor) far(t Table) cost {
	f := s.newFrame(t.speedsRPM())
	values := make([]float64, len(f.groups))
	for i, g := range f.groups {
		values[i] = t.Rows[g.first].ThresholdV.Value / f.steps.v
	}
	c, _ := f.rank(values)
	return c
}

// TestLargerNoise: noise that is larger everywhere by one factor lowers no
// threshold where both tables reach every target, and hardly one elsewhere:
// where the window is too narrow, what one row must give up to serve the speeds
// beside it depends on how narrow it is.
func TestLargerNoise(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 3))
	rows, lower := 0, 0
	for n := range 300 {
		quiet := invent(r)
		s := quiet.sensor(t)
		factor := 1.05 + r.Float64()
		loud := quiet
		loud.readings = slices.Clone(quiet.readings)
		for i := range loud.readings {
			loud.readings[i].NoiseV = loud.readings[i].NoiseV.Times(factor)
		}
		louder := loud.sensor(t)
		before, after := s.Propose(), louder.Propose()
		clear := s.Judge(before).Worst.Score >= 1 && louder.Judge(after).Worst.Score >= 1
		for i, row := range before.Rows {
			was, is := row.ThresholdV, after.Rows[i].ThresholdV
			if !was.Known || !is.Known {
				continue
			}
			rows++
			if is.Value >= was.Value {
				continue
			}
			lower++
			if clear {
				t.Errorf("sensor %d: noise times %v lowers %v V at %v rpm to %v V", n, factor, was.Value, row.RPM, is.Value)
			}
		}
	}
	t.Logf("%d of %d thresholds lower", lower, rows)
	if lower > rows/1000 {
		t.Errorf("larger noise lowers %d of %d thresholds: want at most one in a thousand", lower, rows)
	}
}

// TestScaledVolts: volts, steps and limits times a power of two give the table
// times that, and the same readings the same table.
func TestScaledVolts(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 4))
	for n := range 100 {
		small := invent(r)
		large := small
		const k = 8
		large.readings = slices.Clone(small.readings)
		for i, reading := range large.readings {
			large.readings[i].PeakV, large.readings[i].WeakestV, large.readings[i].NoiseV =
				reading.PeakV.Times(k), reading.WeakestV.Times(k), reading.NoiseV.Times(k)
		}
		in := &large.options.Input
		in.StepV, in.MinV, in.MaxV = k*in.StepV, in.MinV.Times(k), in.MaxV.Times(k)
		a, b, again := small.sensor(t).Propose(), large.sensor(t).Propose(), small.sensor(t).Propose()
		for i := range a.Rows {
			v, scaled := a.Rows[i].ThresholdV, b.Rows[i].ThresholdV
			if v.Known != scaled.Known || math.Abs(k*v.Value-scaled.Value) > 1e-9*scaled.Value {
				t.Errorf("sensor %d: %v V at %v rpm, and %v V of volts times %v", n, v, a.Rows[i].RPM, scaled, k)
			}
			if a.Rows[i] != again.Rows[i] {
				t.Errorf("sensor %d: %v, then %v", n, a.Rows[i], again.Rows[i])
			}
		}
	}
}

// TestVeryFineSteps: a step of a tenth of a microvolt is searched coarse to fine and ends
// at the same place as a coarser one.
func TestVeryFineSteps(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for n := range 40 {
		i := invent(r)
		i.options.Input.StepV = 1e-4
		coarse := i.sensor(t).Propose()
		i.options.Input.StepV = 1e-7
		s := i.sensor(t)
		fine := s.Propose()
		for j, row := range fine.Rows {
			aimV := s.Window(max(row.RPM, s.Options.CrankingLowRPM)).WeakestV
			if math.Abs(row.ThresholdV.Value-coarse.Rows[j].ThresholdV.Value) > 1e-4+0.02*aimV {
				t.Errorf("sensor %d: %v V at %v rpm in steps of 1e-7 V, %v V in steps of 1e-4 V", n, row.ThresholdV.Value, row.RPM, coarse.Rows[j].ThresholdV.Value)
			}
		}
	}
}

// inventFine draws a sensor of 60 V and a table of 24 rows in steps of 1 mV.
func inventFine(r *rand.Rand) invented {
	i := invent(r)
	i.options.Input = Input{StepV: 0.001, MaxV: captures.Some(100.0)}
	i.options.Axis = Axis{Rows: 24, StepRPM: 100}
	times := 60 / i.readings[len(i.readings)-1].PeakV.Or(10)
	noise := times * (0.2 + 3*r.Float64())
	for j := range i.readings {
		reading := &i.readings[j]
		reading.PeakV, reading.WeakestV, reading.NoiseV = reading.PeakV.Times(times), reading.WeakestV.Times(times), reading.NoiseV.Times(noise)
	}
	return i
}

// TestFewValuesAreLookedAt: of the millions of values that fine steps and many
// rows have, a table that must fall somewhere included, few can be part of the
// best.
func TestFewValuesAreLookedAt(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 13))
	most, falling := 0, 0
	for n := range 100 {
		s := inventFine(r).sensor(t)
		speeds, _ := s.axis()
		f := s.newFrame(speeds)
		f.raise()
		layers := f.runsByFalls()
		if layers == nil {
			t.Fatalf("sensor %d: no table", n)
		}
		if len(layers) > 1 {
			falling++
		}
		values := 0
		for _, c := range f.worthwhile(layers[len(layers)-1], f.near(layers)) {
			values += len(c.values)
		}
		most = max(most, values)
	}
	t.Logf("at most %d values; %d of 100 tables fall somewhere", most, falling)
	if most > 100_000 || falling == 0 {
		t.Errorf("%d values are looked at, %d tables fall", most, falling)
	}
}

// benchmarkBest is a narrow window, so that every stage of the search works.
func benchmarkBest(b *testing.B, noise float64, rows int, stepV float64) {
	r := rand.New(rand.NewPCG(5, 5))
	i := invent(r)
	i.options.Input = Input{StepV: stepV}
	i.options.Axis.Rows = rows
	for j := range i.readings {
		i.readings[j].NoiseV = captures.Some(noise * math.Sqrt(100+i.readings[j].RPM) / 100)
	}
	s := i.sensor(b)
	speeds, _ := s.axis()
	s.proposeAt(speeds)
	for b.Loop() {
		s.proposeAt(speeds)
	}
	b.ReportMetric(s.WeakestV(s.LimitRPM)/stepV, "steps")
	b.ReportMetric(s.Judge(s.proposeAt(speeds)).Worst.Score, "score")
}

func BenchmarkBest8RowsFine(b *testing.B)    { benchmarkBest(b, 0.02, 8, 0.001) }
func BenchmarkBest8RowsNarrow(b *testing.B)  { benchmarkBest(b, 0.3, 8, 0.01) }
func BenchmarkBest16Rows(b *testing.B)       { benchmarkBest(b, 0.02, 16, 0.02) }
func BenchmarkBest16RowsNarrow(b *testing.B) { benchmarkBest(b, 0.3, 16, 0.02) }
