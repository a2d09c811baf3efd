package threshold

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// TestPromiseWeakestTooth draws quiet engines and holds what is said of the
// weakest tooth against what it has. From 3 × cranking on it is a bound: at a
// confidence of 95 % it may be less in 5 % of draws. Nearer, where it was read
// while cranking, it is taken as it was read, and scaled; what a reading is off,
// and a ripple that dies out faster or slower than is reckoned with, the signal
// margin has to cover: 95 % of draws are within 15 %.
func TestPromiseWeakestTooth(t *testing.T) {
	r := rand.New(rand.NewPCG(35, 36))
	cranking := func(times float64) func(*engine) float64 {
		return func(e *engine) float64 { return times * e.crankRPM }
	}
	highest, limit := func(e *engine) float64 { return e.highestReading }, func(e *engine) float64 { return e.limitRPM }
	for _, part := range []struct {
		name     string
		from, to func(*engine) float64
		asRead   bool
	}{
		{"up to 1.5 × cranking", cranking(1), cranking(1.5), true},
		{"from there to 3 × cranking", cranking(1.5), cranking(3), true},
		{"to the highest reading", cranking(3), highest, false},
		{"to the limit", highest, limit, false},
	} {
		less, ratios := share{}, []float64(nil)
		for i := range 3 * *draws {
			e := newEngine(families()[i%len(families())], r)
			s, err := NewSensor(e.readings(3+r.IntN(10)), e.options())
			if err != nil {
				t.Fatal(err)
			}
			rpm := part.from(e) * math.Pow(part.to(e)/part.from(e), r.Float64())
			ratios = append(ratios, s.WeakestV(rpm)/e.weakestV(rpm))
			less.count(ratios[i] > 1, true)
		}
		slices.Sort(ratios)
		high := ratios[len(ratios)*19/20]
		t.Logf("%-27s less than was said in %v; said ÷ true: median %.2f, 95 %% up to %.2f", part.name, less, ratios[len(ratios)/2], high)
		if part.asRead && high > 1.15 || !part.asRead && less.of5() > 3 {
			t.Errorf("%s: the weakest tooth is less than was said in %v, 95 %% up to %.2f", part.name, less, high)
		}
	}
}

// turnedS is how long the engine turns at a speed, and silentS how long its noise
// alone is watched; with many draws the latter is silentLongS.
const turnedS, silentS, silentLongS = 0.5, 2, 60

// TestPromiseClear draws engines of every family with noise of every kind, has
// a table proposed from 3 to 12 speeds, and, where it is called clear, lets the
// engine turn before an input with it, at every speed from cranking to the
// limit. At the speed where the table is nearest to the noise that goes on alone
// for longer.
func TestPromiseClear(t *testing.T) {
	r := rand.New(rand.NewPCG(33, 34))
	out := kept{verdicts: map[Verdict]int{}}
	control := counted{}
	engines := *draws
	if *draws >= manyDraws {
		engines = 2 * *draws
	}
	for i := range engines {
		f, k := families()[i%len(families())], noiseKinds[r.IntN(len(noiseKinds))]
		e := newEngine(f, r)
		e.disturb(k)
		s, err := NewSensor(e.readings(3+r.IntN(10)), e.options())
		if err != nil {
			t.Fatal(err)
		}
		table := s.Propose()
		if verdict := s.Judge(table).Verdict; out.proposed(verdict) {
			c := out.turn(e, table)
			if c.missed+c.unwanted > 0 {
				t.Logf("%s, %s: %+v; readings %v", f.name, k.name, c, s.readings)
			}
			control.add(e.run(e.limitRPM, 1.05*e.weakestV(e.limitRPM), 4))
			control.add(e.run(e.crankRPM, 2*e.sigmaV, 2))
		}
	}
	t.Log(out)
	if out.tables < engines/4 {
		t.Errorf("only %d tables called clear", out.tables)
	}
	if lost := (share{out.losing, out.tables}); lost.of5() > 0 || out.losing > 1+out.tables/100 {
		t.Errorf("teeth lost with %v of tables called clear", lost)
	}
	if out.counting > 1+out.tables/100 {
		t.Errorf("noise counted with %d tables called clear", out.counting)
	}
	if out.steady.passed > 1+out.steady.tables/100 {
		t.Errorf("noise passes with tables called clear: %v", out.steady)
	}
	if control.missed == 0 || control.unwanted == 0 {
		t.Errorf("thresholds above the weakest tooth and in the noise: %+v", control)
	}
}

// kept is what became of the tables called clear.
type kept struct {
	verdicts                 map[Verdict]int
	tables, losing, counting int
	counted
	turnedS float64
	// steady is noise alone of every kind but those whose tail no factor bounds,
	// which are wild.
	steady, wild alone
}

// alone is how often noise alone passed a threshold, and how many it passed.
type alone struct {
	passages, passed, tables int
	seconds                  float64
}

func (a *alone) add(passages int, seconds float64) {
	a.passages += passages
	a.passed += min(passages, 1)
	a.tables++
	a.seconds += seconds
}

func (a alone) String() string {
	return fmt.Sprintf("%d times in %.0f s (under %.1g a second), with %d of %d", a.passages, a.seconds, upTo(a.passages)/a.seconds, a.passed, a.tables)
}

// proposed counts a table; true for one that is clear.
func (k *kept) proposed(v Verdict) bool {
	k.verdicts[v]++
	return v == Clear
}

// turn lets an engine turn with a table.
func (k *kept) turn(e *engine, table Table) counted {
	var c counted
	tightest, at := math.Inf(1), 0.0
	const speeds = 12
	for step := range speeds {
		rpm := e.crankRPM * math.Pow(e.limitRPM/e.crankRPM, float64(step)/(speeds-1))
		turns := max(4, int(rpm/60*turnedS))
		c.add(e.run(rpm, table.At(rpm).Value, turns))
		k.turnedS += float64(turns) * 60 / rpm
		if ratio := table.At(rpm).Value / e.noiseV(rpm); ratio < tightest {
			tightest, at = ratio, rpm
		}
	}
	seconds := silentS
	if *draws >= manyDraws {
		seconds = silentLongS
	}
	n := newNoiseStream(e.noise, e.r).passages(float64(seconds), table.At(at).Value/e.noiseV(at))[0]
	noise := &k.steady
	if e.noise.unbounded {
		noise = &k.wild
	}
	noise.add(n, float64(seconds))
	k.tables++
	k.losing += min(c.missed, 1)
	k.counting += min(c.unwanted, 1)
	k.counted.add(c)
	return c
}

// String gives the counts with their one-sided bounds at 95 %, 3 ÷ exposure
// where there are none.
func (k kept) String() string {
	return fmt.Sprintf("%d tables clear, %d thin, %d unproven, %d fail; with the clear ones: "+
		"%d of %d teeth missed (under %.1g), %d false events in %.0f s (under %.1g a second); teeth lost with %d, noise counted with %d; "+
		"noise alone passes %v; noise of wild tails %v",
		k.verdicts[Clear], k.verdicts[Thin], k.verdicts[Unproven], k.verdicts[Fails],
		k.missed, k.teeth, upTo(k.missed)/float64(k.teeth), k.unwanted, k.turnedS, upTo(k.unwanted)/k.turnedS, k.losing, k.counting,
		k.steady, k.wild)
}

// upTo is the largest mean of which so few come with a chance of 5 % or more:
// Poisson's, exactly.
func upTo(n int) float64 { return distuv.ChiSquared{K: 2 * float64(n+1)}.Quantile(0.95) / 2 }
