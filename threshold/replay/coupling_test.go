package replay

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// twoWaves are a sweep on a wheel of 36 teeth of which one is missing, and beside
// it a wave with one low bulge for each four turns, noise, and whatever is added.
type twoWaves struct {
	own, other           []float64
	ownTeeth, otherTeeth []float64
}

func newTwoWaves(rng *rand.Rand, added func(w *twoWaves, turns []float64)) twoWaves {
	const stepS, n, pitches = 1e-5, 120000, 36
	w := twoWaves{own: make([]float64, n), other: make([]float64, n)}
	turns := make([]float64, n)
	turned := rng.Float64()
	for i := range n {
		hz := 20 + 60*float64(i)/n
		before := turned
		turned += hz * stepS
		turns[i] = turned
		_, tooth := math.Modf(turned * pitches)
		if _, place := math.Modf(turned); place < 35.0/36 {
			w.other[i] = -hz / 10 * math.Sin(2*math.Pi*(tooth-0.5)) // falls in the middle of a tooth
			if _, past := math.Modf(before * pitches); past < 0.5 && tooth >= 0.5 {
				w.otherTeeth = append(w.otherTeeth, float64(i)-(tooth-0.5)/(hz*stepS*pitches))
			}
		}
		_, cycle := math.Modf(turned / 4)
		d := (cycle - 0.5) * 40
		w.own[i] = -hz / 10 * d * math.Exp(-d*d)
		if _, past := math.Modf(before / 4); past < 0.5 && cycle >= 0.5 {
			w.ownTeeth = append(w.ownTeeth, float64(i))
		}
	}
	added(&w, turns)
	for i := range w.own {
		w.own[i] += 0.05 * rng.NormFloat64()
		w.other[i] += 0.03 * rng.NormFloat64()
	}
	return w
}

func (w *twoWaves) couple() *coupling {
	var own, other Strips
	own.Wave(0, w.own)
	other.Wave(0, w.other)
	return couple(&own, &other, w.ownTeeth, w.otherTeeth)
}

// events are the falls after the own wave passed a level, beside the own teeth.
func (w *twoWaves) events(thresholdV float64) []fault {
	var list []fault
	armed := false
	for i := 1; i < len(w.own); i++ {
		if w.own[i] > thresholdV {
			armed = true
		}
		if armed && w.own[i] <= 0 {
			armed = false
			at := float64(i) - w.own[i]/(w.own[i]-w.own[i-1])
			if !nearTeeth(w.ownTeeth, at-100, at+100) {
				list = append(list, fault{at: at, thresholdV: float32(thresholdV), flags: isFalse})
			}
		}
	}
	return list
}

// gone is the share of false events that the coupling explains.
func gone(t *testing.T, c *coupling, list []fault) float64 {
	t.Helper()
	if len(list) < leastFaults {
		t.Fatalf("%d false events", len(list))
	}
	n := 0.0
	for i := range list {
		if is, ok := c.explains(&list[i], 0); ok && is {
			n++
		}
	}
	return n / float64(len(list))
}

// What was put in is found, and its events vanish without it: a share of the
// voltage, of its change, of both, and of what it was a few samples before, also
// where only the highest teeth pass.
func TestCouplingIsFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(71, 3))
	for range 12 {
		level, change, lag := rng.Float64()-0.5, 8*(rng.Float64()-0.5), rng.IntN(3)
		name := fmt.Sprintf("%.2f of it, %.2f of its change, %d samples later", level, change, lag)
		w := newTwoWaves(rng, func(w *twoWaves, _ []float64) {
			for i := lag + 1; i < len(w.own); i++ {
				w.own[i] += level*w.other[i-lag] + change*(w.other[i-lag]-w.other[i-lag-1])
			}
		})
		c := w.couple()
		if c == nil {
			t.Fatalf("%s: no coupling", name)
		}
		highest := 0.0
		for i := range w.own {
			if !nearTeeth(w.ownTeeth, float64(i), float64(i)) {
				highest = max(highest, w.own[i])
			}
		}
		for _, part := range []float64{0.5, 0.9} {
			if share := gone(t, c, w.events(part*highest)); share < 0.97 {
				t.Errorf("%s, over %.0f %% of the highest: %.3f of the false events are gone without it", name, 100*part, share)
			}
		}
	}
}

// Where the own wave stands high, half as high as the other's part is enough to pass, and
// without that nothing would.
func TestCouplingOnTheOwnWave(t *testing.T) {
	rng := rand.New(rand.NewPCG(74, 3))
	highest := 0.0
	w := newTwoWaves(rng, func(w *twoWaves, turns []float64) {
		for i := range w.own {
			hz := 20 + 60*float64(i)/float64(len(w.own))
			w.own[i] += hz/10*(0.3+0.3*math.Cos(2*math.Pi*turns[i])) + 0.5*w.other[i]
			if !nearTeeth(w.ownTeeth, float64(i), float64(i)) {
				highest = max(highest, w.own[i])
			}
		}
	})
	if share := gone(t, w.couple(), w.events(0.9*highest)); share < 0.97 {
		t.Errorf("%.3f of the false events are gone without it", share)
	}
}

// A spark at the same angle as one of the other's teeth, turn by turn, and noise
// are not the other's wave: it is not there at the other teeth.
func TestSparksAreNoCoupling(t *testing.T) {
	rng := rand.New(rand.NewPCG(72, 3))
	for range 12 {
		at, hz, decayS := rng.Float64(), 3e3+9e3*rng.Float64(), 4e-5+2e-4*rng.Float64()
		name := fmt.Sprintf("at %.3f of a turn, %.0f Hz, %.0f µs", at, hz, 1e6*decayS)
		w := newTwoWaves(rng, func(w *twoWaves, turns []float64) {
			for i := 1; i < len(turns); i++ {
				if math.Floor(turns[i]-at) == math.Floor(turns[i-1]-at) {
					continue
				}
				heightV := turns[i] - turns[i-1]
				for j := i; j < min(i+100, len(w.own)); j++ {
					s := float64(j-i) * 1e-5
					w.own[j] += 5e3 * heightV * math.Exp(-s/decayS) * math.Cos(2*math.Pi*hz*s)
				}
			}
		})
		if share := gone(t, w.couple(), w.events(1)); share > 0.05 {
			t.Errorf("%s: %.3f of the false events are gone", name, share)
		}
	}
}

// Sparks on both sensors pass the cam's low table: they are locked to the crank,
// and no cross-talk.
func TestSparksBesideAnotherSensor(t *testing.T) {
	s, err := simulate.FindScenario("cross-talk")
	if err != nil {
		t.Fatal(err)
	}
	rig := s.Captures[0]
	rig.Sensors = append([]simulate.Sensor(nil), rig.Sensors...)
	for i := range rig.Sensors {
		rig.Sensors[i].CrossS = 0
		rig.Sensors[i].Sparks = []simulate.Spark{{
			AnglesDeg: []float64{42, 222, 402, 582}, HeightV: 3, AtRPM: 6500, Power: 2, RingHz: 7e3, DecayS: 9e-5, Jitter: 0.05,
		}}
	}
	s.Name, rig.Name = "sparks on both", "pull"
	for i := range s.Tables {
		if s.Tables[i].Sensor == captures.Cam {
			s.Tables[i].Rows = []simulate.Row{{RPM: 0, ThresholdV: 0.15}, {RPM: 200, ThresholdV: 0.15}, {RPM: 1000, ThresholdV: 0.7}, {RPM: 7000, ThresholdV: 1.2}}
			res, _ := examined(t, s, rig, s.Tables[i])
			checkCause(t, s.Name, res, CrankLockedNoise)
			for _, c := range res.Causes {
				if c.Kind == CrossTalk {
					t.Errorf("%+v", c)
				}
			}
		}
	}
}

// Of two waves side by side the same stretches are kept, right to the sample,
// however the samples come and however long they are.
func TestStripsGoTogether(t *testing.T) {
	const n = 5*mostStrips*stripSamples/2 + 777
	rng := rand.New(rand.NewPCG(73, 3))
	var a, b Strips
	for _, s := range []*Strips{&a, &b} {
		for at := 0; at < n; {
			block := make([]float64, min(1+rng.IntN(20000), n-at))
			for i := range block {
				block[i] = float64(at + i)
			}
			s.Wave(int64(at), block)
			at += len(block)
		}
	}
	if len(a.list) != len(b.list) || len(a.list) < mostStrips/2 || len(a.list) > mostStrips {
		t.Fatalf("%d and %d stretches of at most %d", len(a.list), len(b.list), mostStrips)
	}
	for i, x := range a.list {
		y := b.of(x.first + 5)
		if y == nil || y.first != x.first || len(y.v) != len(x.v) {
			t.Fatalf("stretch %d at %d: %v", i, x.first, y)
		}
		for k, v := range y.v {
			if v != float32(x.first+int64(k)) {
				t.Fatalf("sample %d is %g", x.first+int64(k), v)
			}
		}
	}
	if a.of(-1) != nil || a.of(n+2*stripSamples) != nil || a.of(stripSamples) != nil {
		t.Error("a stretch where none was kept")
	}
}
