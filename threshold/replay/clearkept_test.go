package replay

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"armcurve/captures"
	"armcurve/captures/simulate"
	"armcurve/captures/teeth"
	"armcurve/threshold"
)

// draws is how much is simulated; more takes longer and tells more.
var draws = flag.Int("draws", 40, "twenty times the engines whose tables are held against fresh captures")

// engine is an invented one, recorded again and again.
type engine struct {
	sensor   simulate.Sensor
	ripple   simulate.Ripple
	starter  float64
	crankRPM float64
	limitRPM float64
}

// drawEngine draws an engine of usual measures, its wheel one in turn.
func drawEngine(r *rand.Rand, number int) engine {
	between := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }
	wheel, _ := captures.ParseWheel([]string{"36-1", "60-2", "24", "12-1", "36-2-2-2"}[number%5])
	e := engine{
		ripple:  simulate.Ripple{Share: between(0.15, 0.45), AtRPM: 200, Cylinders: 4 + 2*r.IntN(2)},
		starter: between(0.3, 1.2), crankRPM: between(160, 260), limitRPM: between(5000, 8000),
	}
	limitRPM := e.limitRPM
	e.sensor = simulate.Sensor{
		Name: captures.Crank, Wheel: wheel, DiameterMM: between(120, 190), GapMM: between(0.6, 1.3), LinkageVS: between(2e-3, 6e-3),
		RunOutMM: 0.1 * r.Float64(), RunOutDeg: 360 * r.Float64(),
		Coil:  simulate.Coil{ResistanceOhm: between(500, 1200), InductanceH: between(0.15, 0.8), LoadOhm: between(5e3, 50e3)},
		Noise: []simulate.Noise{{SigmaV: between(0.004, 0.02), SigmaPerRPMV: between(1e-6, 6e-6), RateHz: between(4e3, 12e3)}},
		Sparks: []simulate.Spark{{
			AnglesDeg: []float64{95, 275, 455, 635}, HeightV: between(0.2, 1.2), AtRPM: limitRPM, Power: 2,
			RingHz: between(7e3, 15e3), DecayS: 6e-5, Jitter: 0.08,
		}},
		Recorder: simulate.Recorder{OffsetV: 0.2*r.Float64() - 0.1, StepV: 0.005, RangeV: 60},
	}
	return e
}

// recorded is a capture of the engine: at a speed while cranking, or in one pull.
func (e engine) recorded(seed uint64, name string, fromRPM, toRPM, seconds float64) simulate.Rig {
	s := e.sensor
	if toRPM < 2*e.crankRPM { // the starter turns it, and nothing ignites
		s.Noise = append([]simulate.Noise{{SigmaV: 0.02 * e.starter, RateHz: 6000}}, s.Noise...)
		s.Tones = []simulate.Tone{{AmplitudeV: 0.03 * e.starter, PerTurn: 240}}
		s.Sparks = nil
	}
	rig := simulate.Rig{
		Name: name, Seed: seed, SampleHz: 100e3, LengthS: seconds, StartDeg: 77,
		Speed: simulate.Pull(fromRPM, toRPM, seconds), Ripple: e.ripple, Sensors: []simulate.Sensor{s},
	}
	if toRPM == 0 {
		rig.Speed, rig.Ripple = simulate.Steady(0), simulate.Ripple{}
	}
	return rig
}

// readings are what is measured of an engine that stands, is cranked, and pulls
// to its limit.
func (e engine) readings(t *testing.T, seed uint64) []captures.Reading {
	var list []captures.Reading
	for _, rig := range []simulate.Rig{
		e.recorded(seed, "standing", 0, 0, 1),
		e.recorded(seed, "cranking", e.crankRPM, 0.97*e.crankRPM, 4),
		e.recorded(seed, "pull", 4*e.crankRPM, e.limitRPM, 3),
	} {
		source, err := simulate.Open(rig)
		if err != nil {
			t.Fatal(err)
		}
		m, err := teeth.Measure(source, teeth.Options{Wheel: e.sensor.Wheel, CrankingRPM: e.crankRPM, NoiseOnly: rig.Name == "standing"})
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, m.Readings...)
	}
	return list
}

func (e engine) options() threshold.Options {
	o := threshold.DefaultOptions()
	o.Wheel, o.CrankingRPM, o.CrankingLowRPM = e.sensor.Wheel, e.crankRPM, 0.9*e.crankRPM
	o.LimitRPM = captures.Some(e.limitRPM)
	return o
}

// playTrue replays a capture with the teeth that it truly has.
func (e engine) playTrue(t *testing.T, rig simulate.Rig, table threshold.Table) Result {
	source, err := simulate.Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	info := source.Info()
	r, err := New(info, Options{Tables: []threshold.Table{table}, Wheel: e.sensor.Wheel, CrankingRPM: e.crankRPM})
	if err != nil {
		t.Fatal(err)
	}
	var passed []simulate.Tooth
	source.Watch(func(x simulate.Tooth) { passed = append(passed, x) })
	var b captures.Block
	for source.Next(&b) == nil {
		r.Wave(b.First, b.V[0])
		given := info.StartS + float64(b.First+int64(len(b.V[0]))-2)*info.StepS
		for len(passed) > 0 && passed[0].TimeS < given {
			x := passed[0]
			r.Tooth(x.Tooth, !x.Unseen, (x.TimeS-info.StartS)/info.StepS, e.sensor.Recorder.OffsetV)
			passed = passed[1:]
		}
	}
	r.End()
	result, err := r.Result(0, Facts{Signal: teeth.Reluctor})
	if err != nil {
		t.Fatal(err)
	}
	return result
}

// TestPromiseClearInFreshCaptures measures simulated captures of engines, has
// tables proposed, and replays those called clear in fresh captures of the same
// engines, cranked and pulled from cranking to the limit.
func TestPromiseClearInFreshCaptures(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	verdicts := map[threshold.Verdict]int{}
	var all Counts
	seconds, faulty := 0.0, 0
	for i := range max(2, *draws/20) {
		e := drawEngine(r, i)
		proposed, err := threshold.Propose(e.readings(t, uint64(2*i)), e.options())
		if err != nil {
			t.Errorf("engine %d: %v", i, err)
			continue
		}
		verdicts[proposed.Judgement.Verdict]++
		if proposed.Judgement.Verdict != threshold.Clear {
			t.Logf("engine %d, %v: %v, worst %+v", i, e.sensor.Wheel, proposed.Judgement.Verdict, proposed.Judgement.Worst)
			continue
		}
		for _, rig := range []simulate.Rig{
			e.recorded(uint64(2*i+1), "cranking again", 0.9*e.crankRPM, e.crankRPM, 4),
			e.recorded(uint64(2*i+1), "from cranking to the limit", e.crankRPM, e.limitRPM, 6),
		} {
			result := e.playTrue(t, rig, proposed.Table)
			all.Expected += result.Expected
			all.Missed += result.Missed + result.Unseen
			all.False += result.False
			seconds += rig.LengthS
			if result.Faults() > 0 {
				faulty++
				t.Logf("engine %d, %v, %s: %+v first at %.0f rpm, %+v", i, e.sensor.Wheel, rig.Name, result.Counts, result.FirstFaultRPM.Value, result.Causes)
			}
		}
	}
	// One-sided at 95 %: Clopper and Pearson's for teeth, Poisson's for time.
	missed := distuv.Beta{Alpha: float64(all.Missed + 1), Beta: float64(all.Expected - all.Missed)}.Quantile(0.95)
	unwanted := distuv.ChiSquared{K: 2 * float64(all.False+1)}.Quantile(0.95) / 2 / seconds
	t.Logf("%v; with the clear ones %d of %d teeth missed (under %.1g), %d false events in %.0f s (under %.1g a second), %d captures with any",
		verdicts, all.Missed, all.Expected, missed, all.False, seconds, unwanted, faulty)
	if faulty > 0 || verdicts[threshold.Clear] == 0 {
		t.Errorf("%d captures with faults, %d tables called clear", faulty, verdicts[threshold.Clear])
	}
}
