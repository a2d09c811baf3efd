package threshold

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"armcurve/captures"
)

// noisy draws a sensor with every kind of noise reading.
func noisy(r *rand.Rand) invented {
	job := invent(r)
	job.options.Wheel, _ = captures.ParseWheel([]string{"36-1", "60-2", "24", ""}[r.IntN(4)])
	chance := func(v float64) captures.Maybe {
		if r.IntN(2) == 0 {
			return captures.Maybe{}
		}
		return captures.Some(v * r.Float64())
	}
	for i := range job.readings {
		reading := &job.readings[i]
		scale := reading.PeakV.Or(0.5)
		reading.NoiseRMSV, reading.ToneV, reading.SpikeV = chance(0.02*scale), chance(0.05*scale), chance(0.1*scale)
		if reading.NoiseRMSV.Known {
			reading.NoiseRateHz = chance(20000)
		}
		if reading.PeakV.Known {
			reading.HumpV = chance(0.2 * scale)
		}
	}
	return job
}

// TestMoreNoiseMoreCeiling raises one quantity of one reading, or of all, and
// finds no speed up to the highest noise reading where the noise ceiling is
// lower. Above it noise goes on along its slope, which a larger noise below
// makes flatter; everything raised alike raises the ceiling there too.
func TestMoreNoiseMoreCeiling(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 18))
	for range 5 * *draws {
		job := noisy(r)
		before := job.sensor(t)
		if !before.NoiseKnown() {
			continue
		}
		which, all := r.IntN(7), r.IntN(2) == 0
		one, times := r.IntN(len(job.readings)), 1+2*r.Float64()
		more := slices.Clone(job.readings)
		for i := range more {
			if all || i == one {
				quantity := []*captures.Maybe{
					&more[i].NoiseV, &more[i].NoiseRMSV, &more[i].NoiseRateHz, &more[i].ToneV, &more[i].SpikeV, &more[i].HumpV,
				}
				if which == len(quantity) {
					for _, q := range quantity {
						*q = q.Times(times)
					}
				} else {
					*quantity[which] = quantity[which].Times(times)
				}
			}
		}
		after := invented{more, job.options}.sensor(t)
		top := before.noise.highestRPM()
		if all && which == 6 {
			top = before.LimitRPM
		}
		notLower(t, before, after, top, fmt.Sprintf("quantity %d × %.2f, all %v", which, times, all))
	}
}

func notLower(t *testing.T, before, after *Sensor, topRPM float64, what string) {
	t.Helper()
	for rpm := 0.0; rpm <= topRPM; rpm += topRPM/50 + 1 {
		was, is := before.Window(rpm), after.Window(rpm)
		if is.NoiseV.Value < was.NoiseV.Value*(1-1e-9) {
			t.Errorf("%s: the ceiling at %v rpm falls from %v V (%s) to %v V (%s)", what, rpm, was.NoiseV.Value, was.NoisePart, is.NoiseV.Value, is.NoisePart)
			return
		}
	}
}

// TestOneMoreNoiseReading adds a reading of noise at a speed that has one: the
// ceiling is never lower for it.
func TestOneMoreNoiseReading(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 20))
	for range *draws {
		job := noisy(r)
		before := job.sensor(t)
		if !before.NoiseKnown() {
			continue
		}
		at := before.noise.noises
		if len(at) == 0 {
			continue
		}
		extra := captures.Reading{RPM: at[len(at)-1].rpm}
		if r.IntN(2) == 0 || !at[len(at)-1].rmsV.Known {
			extra.NoiseV = captures.Some(0.2 * r.Float64())
		} else {
			extra.NoiseRMSV = captures.Some(0.05 * r.Float64())
		}
		after := invented{append(slices.Clone(job.readings), extra), job.options}.sensor(t)
		notLower(t, before, after, before.LimitRPM, "one more reading")
	}
}

// TestOrderChangesNothing shuffles the readings and names their files anew.
func TestOrderChangesNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	for range 2 * *draws {
		job := noisy(r)
		job.readings = append(job.readings, job.readings[len(job.readings)/2]) // measured twice
		job.readings[len(job.readings)-1].PeakV.Value *= 1.01
		a, err := Propose(job.readings, job.options)
		if err != nil {
			t.Fatal(err)
		}
		shuffled := slices.Clone(job.readings)
		r.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		for i := range shuffled {
			shuffled[i].Pos = captures.Pos{File: fmt.Sprintf("part%d.csv", i%3), Line: i}
		}
		b, err := Propose(shuffled, job.options)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(a.Table.Rows, b.Table.Rows) || a.Judgement.Worst != b.Judgement.Worst {
			t.Fatalf("order changes the table:\n%v\n%v", a.Table.Rows, b.Table.Rows)
		}
		for rpm := 0.0; rpm < a.Sensor.LimitRPM; rpm += 100 {
			if w := b.Sensor.Window(rpm); w != a.Sensor.Window(rpm) {
				t.Fatalf("order changes the window at %v rpm: %+v %+v", rpm, a.Sensor.Window(rpm), w)
			}
		}
	}
}

// TestClampOnlyTakesAway: the larger the clamp, the larger the weakest tooth,
// up to the one without a clamp.
func TestClampOnlyTakesAway(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	for range *draws {
		job := invent(r)
		free := job.sensor(t)
		lowV := 0.1 + 3*r.Float64()
		job.options.Input.ClampV = captures.Some(lowV)
		low := job.sensor(t)
		job.options.Input.ClampV = captures.Some(lowV * (1 + r.Float64()))
		high := job.sensor(t)
		for rpm := 0.0; rpm <= free.LimitRPM; rpm += 50 {
			a, b, c := low.WeakestV(rpm), high.WeakestV(rpm), free.WeakestV(rpm)
			if a > b || b > c || a > lowV {
				t.Fatalf("at %v rpm %v V at a clamp of %v V, %v V at a larger one, %v V without", rpm, a, lowV, b, c)
			}
		}
	}
}

// TestInsideTheWindow: where a window has room to spare at every speed, and
// steps are fine against it, the table proposed lies inside it at every rpm.
func TestInsideTheWindow(t *testing.T) {
	r := rand.New(rand.NewPCG(25, 26))
	tables := 0
	for range 4 * *draws {
		job := invent(r)
		job.options.Axis.Rows = 8 + r.IntN(9)
		job.options.Input.MinV, job.options.Input.MaxV = captures.Maybe{}, captures.Maybe{}
		s := job.sensor(t)
		roomy := true
		for _, w := range s.windows {
			roomy = roomy && (!w.Turning || w.room() > 2.5 && job.options.Input.StepV < 0.1*(w.WeakestV-w.NoiseV.Or(0)))
		}
		if !roomy {
			continue
		}
		tables++
		table := s.Propose()
		for rpm := 0.0; rpm <= s.LimitRPM; rpm++ {
			w, v := s.Window(rpm), table.At(rpm)
			if !v.Known || v.Value <= w.NoiseV.Or(0) || w.Turning && v.Value >= w.WeakestV {
				t.Fatalf("%v V at %v rpm, window %v to %v V", v, rpm, w.NoiseV, w.WeakestV)
			}
		}
	}
	if tables < *draws/2 {
		t.Errorf("only %d tables", tables)
	}
}

// TestBoundsInOrder: a lower bound is never negative and never above the curve,
// at any speed of any family.
func TestBoundsInOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(27, 28))
	for _, f := range families() {
		for range *draws / 6 {
			sim := f.simulate(r, 3+r.IntN(10))
			s, err := NewSensor(sim.readings, DefaultOptions())
			if err != nil {
				continue
			}
			for rpm := 1.0; rpm < 5*sim.highRPM; rpm *= 1.05 {
				e := s.Curve.At(rpm)
				if !(0 <= e.LowV && e.LowV <= e.V && e.V <= e.HighV) || math.IsInf(e.HighV, 0) {
					t.Fatalf("%s at %v rpm: %+v", f.name, rpm, e)
				}
			}
			if e := s.Curve.At(0); e != (Estimate{}) {
				t.Fatalf("%s at rest: %+v", f.name, e)
			}
		}
	}
}
