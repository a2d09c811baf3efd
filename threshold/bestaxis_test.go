package threshold

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"armcurve/captures"
)

// inventSlow draws a sensor of an engine with so low a limit that every axis
// can be tried.
func inventSlow(r *rand.Rand) invented {
	i := invent(r)
	limitRPM := 1800 + 600*r.Float64()
	i.options.LimitRPM = captures.Some(limitRPM)
	i.options.Axis = Axis{Rows: 6, StepRPM: 200, Best: true}
	i.readings = inventReadings(r, i.options.CrankingRPM, limitRPM)
	return i
}

// everyAxis calls visit with the required speeds and any others on the axis
// step, as many rows together as asked for.
func (s *Sensor) everyAxis(rows int, visit func(speeds []float64)) {
	required := s.requiredSpeeds()
	others := s.siteSpeeds(s.Options.CrankingLowRPM, required)
	others = slices.DeleteFunc(others, func(rpm float64) bool { return slices.Contains(required, rpm) })
	var choose func(chosen []float64, from int)
	choose = func(chosen []float64, from int) {
		if len(required)+len(chosen) == rows {
			speeds := slices.Concat(required, chosen)
			slices.Sort(speeds)
			visit(speeds)
			return
		}
		for i := from; i < len(others); i++ {
			choose(append(chosen, others[i]), i+1)
		}
	}
	choose(nil, 0)
}

func TestBestAxisAgainstEveryAxis(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	axes, gain, sensors := 0, 0.0, 0
	for n := range 40 {
		s := inventSlow(r).sensor(t)
		best, _ := s.axis()
		found := s.newFrame(best).most()
		if math.IsInf(found, 1) || s.Judge(s.proposeAt(best)).Worst.Score == 0 {
			continue // without noise, or without a threshold somewhere
		}
		sensors++
		s.everyAxis(len(best), func(speeds []float64) {
			axes++
			if other := s.newFrame(speeds).most(); other > found*(1+2*axisSlack) && !s.failsInOpenWindow(s.proposeAt(speeds)) {
				t.Errorf("sensor %d: rows at %v have worst score %v, those at %v only %v", n, speeds, other, best, found)
			}
		})
		s.Options.Axis.Best = false
		geometric, _ := s.axis()
		gain += math.Log(found / s.newFrame(geometric).most())
	}
	t.Logf("%d sensors, %d axes; %.1f %% more than rows in geometric steps", sensors, axes, 100*gain/float64(sensors))
}

// TestBestAxisStaysInside: where rows are held up to the next and the window is
// narrow, an axis is chosen whose table stays inside the window from cranking
// on, if there is any.
func TestBestAxisStaysInside(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 4))
	fails := func(s *Sensor, speeds []float64) bool {
		table := s.proposeAt(speeds)
		for _, w := range s.newJudge(speeds).windows {
			m := w.judgeAt(table)
			outside := !table.At(w.RPM).Known || m.signal.Or(2) <= 1 || m.noise.Or(2) <= 1
			if w.RPM >= s.Options.CrankingRPM && !w.closed() && outside {
				return true
			}
		}
		return false
	}
	inside, outside := 0, 0
	for n := range 60 {
		i := inventSlow(r)
		i.options.Input.BetweenRows = Step
		noise := 1 + 4*r.Float64()
		for j := range i.readings {
			i.readings[j].NoiseV = i.readings[j].NoiseV.Times(noise)
		}
		s := i.sensor(t)
		best, _ := s.axis()
		if !fails(s, best) {
			inside++
			continue
		}
		outside++
		s.everyAxis(len(best), func(speeds []float64) {
			if !fails(s, speeds) {
				t.Errorf("sensor %d: rows at %v stay inside the window, those at %v do not", n, speeds, best)
			}
		})
	}
	t.Logf("%d inside, %d where no axis is", inside, outside)
	if inside == 0 || outside == 0 {
		t.Error("no case in point")
	}
}

// TestFewestRows: the number of rows chosen reaches both targets, or none does;
// one row less does not; and more keep what is said.
func TestFewestRows(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 2))
	reached, more := 0, 0
	for n := range 40 {
		i := invent(r)
		i.options.Axis = Axis{Rows: 8, StepRPM: 250, Auto: true}
		s := i.sensor(t)
		speeds, choice := s.axis()
		if choice == nil {
			t.Fatalf("sensor %d: no choice", n)
		}
		if len(speeds) != choice.Rows {
			t.Errorf("sensor %d: %d rows of %d", n, len(speeds), choice.Rows)
		}
		worst := s.newFrame(speeds).most()
		reaches := worst >= 1-targetSlack && s.NoiseKnown()
		if reaches != choice.Reaches {
			t.Errorf("sensor %d: worst score %v, reaches %v", n, worst, choice.Reaches)
		}
		required := s.requiredSpeeds()
		if fewer := choice.Rows - 1; choice.Reaches && fewer >= len(required) {
			less, _ := s.bestAxis(required, fewer)
			if score := s.newFrame(less).most(); score >= 1 {
				t.Errorf("sensor %d: %d rows chosen, %d reach both targets, with score %v", n, choice.Rows, fewer, score)
			}
		}
		if choice.Reaches {
			reached++
		}
		if choice.MoreRows > 0 {
			more++
			longer, _ := s.bestAxis(required, choice.MoreRows)
			if gain := s.newFrame(longer).most()/worst - 1; math.Abs(gain-choice.Gain) > 0.001 || gain < helps-1-2*axisSlack && choice.Reaches {
				t.Errorf("sensor %d: %d rows gain %v, said %v", n, choice.MoreRows, gain, choice.Gain)
			}
		}
	}
	t.Logf("both targets reached for %d of 40, more rows gain for %d", reached, more)
}

func benchmarkAxis(b *testing.B, rows int) {
	i := invent(rand.New(rand.NewPCG(5, 5)))
	i.options.Input = Input{StepV: 0.02}
	s := i.sensor(b)
	required := s.requiredSpeeds()
	for b.Loop() {
		s.bestAxis(required, rows)
	}
}

func BenchmarkBestAxis8(b *testing.B)    { benchmarkAxis(b, 8) }
func BenchmarkBestAxis16(b *testing.B)   { benchmarkAxis(b, 16) }
func BenchmarkBestAxisAuto(b *testing.B) { benchmarkAxis(b, 0) }

// TestAxisSteps: the speed above one that is on the axis step is the next step,
// however the step rounds.
func TestAxisSteps(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 3))
	readings, o := twelve()
	s, err := NewSensor(readings, o)
	if err != nil {
		t.Fatal(err)
	}
	for range 200 {
		axis := Axis{StepRPM: 20 + 500*r.Float64()}
		s.Options.Axis = axis
		for k := range 30 {
			rpm := float64(k) * axis.StepRPM
			if above := axis.above(rpm); math.Abs(above-rpm-axis.StepRPM) > 1e-6 {
				t.Fatalf("above %v comes %v, in steps of %v", rpm, above, axis.StepRPM)
			}
			for _, site := range s.siteSpeeds(rpm, []float64{40 * axis.StepRPM}) {
				if site < rpm+axis.StepRPM/2 || site > 40*axis.StepRPM {
					t.Fatalf("%v beside %v, in steps of %v", site, rpm, axis.StepRPM)
				}
			}
		}
	}
}
