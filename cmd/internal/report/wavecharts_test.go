package report

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"armcurve/threshold/replay"
)

// Whatever pieces a wave comes in, each column has the lowest and highest of
// its own samples, and none is left out.
func TestExtremes(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{0, 1, 999, 1000, 1001, 4096, 123457} {
		v := make([]float64, n)
		for i := range v {
			v[i] = random.NormFloat64()
			switch random.IntN(1000) {
			case 0:
				v[i] = math.NaN()
			case 1:
				v[i] = math.Inf(1)
			}
		}
		e := NewExtremes()
		for rest := v; len(rest) > 0; {
			k := min(1+random.IntN(3000), len(rest))
			e.Add(rest[:k])
			rest = rest[k:]
		}
		if len(e.columns) > mostColumns || n > mostColumns && len(e.columns) < mostColumns/2 {
			t.Errorf("%d samples make %d columns", n, len(e.columns))
		}
		first := 0
		for _, c := range e.columns {
			part := v[first : first+int(c.samples)]
			first += int(c.samples)
			low, high, out := math.Inf(1), math.Inf(-1), false
			for _, x := range part {
				if math.IsInf(x, 0) {
					out = true
				} else if !math.IsNaN(x) {
					low, high = min(low, x), max(high, x)
				}
			}
			if c.low != low || c.high != high || c.overRange != out {
				t.Fatalf("a column has %v to %v (%v), its samples %v to %v (%v)", c.low, c.high, c.overRange, low, high, out)
			}
		}
		if first != n {
			t.Errorf("%d of %d samples are in a column", first, n)
		}
	}
}

// Thinning keeps what stands out, in the order of time.
func TestThinned(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	points := make([]Point, 50000)
	for i := range points {
		points[i] = Point{float64(i), random.NormFloat64()}
	}
	points[31234].Y, points[777].Y = 40, -40
	points[5000].Y = math.NaN()
	kept := thinned(points)
	if len(kept) > mostPoints || !slices.Contains(kept, points[31234]) || !slices.Contains(kept, points[777]) {
		t.Errorf("%d points kept, the spikes or not", len(kept))
	}
	if !slices.IsSortedFunc(kept, func(a, b Point) int { return int(a.X - b.X) }) {
		t.Error("the order is not that of time")
	}
	if few := points[:mostPoints]; len(thinned(few)) != len(few) {
		t.Error("few points are thinned too")
	}
}

// Every kind of picture of a wave is well formed, and rings what it says it
// does, with and without data.
func TestWaveCharts(t *testing.T) {
	x := Excerpt{
		Threshold: []Point{{3, 1}, {3.02, 1}}, Armed: []Point{{3.001, 1}}, Counted: []Point{{3.0015, 0}}, False: []Point{{3.01, 0}}, Missed: []Point{{3.005, 1}},
		Teeth: []Dot{{X: 3.001, Y: 3, Text: "7"}, {X: 3.004, Y: 3, Text: "8"}},
	}
	var volts []float64
	for i := range 2000 {
		volts = append(volts, 3*math.Sin(float64(i)/50))
		x.Wave = append(x.Wave, Point{3 + float64(i)*1e-5, volts[i]})
	}
	x.Wave[7].Y, volts[8] = math.NaN(), math.Inf(1)
	e := NewExtremes()
	e.Add(volts)
	teeth := TeethChart("teeth", "t", "c", []float64{1.1, 0.8, 1.1})
	for _, c := range []Chart{
		WaveChart("wave", "t", "c", x), RecordChart("record", "t", "c", e, 3, 1e-5), teeth,
		AngleChart("angle", "t", "c", []replay.Place{{CrankDeg: 84, RPM: 3000}, {CrankDeg: 359, RPM: 3100}}, 360), SpeedChart("speed", "t", "c", []Point{{0, 900}, {1, 5000}}),
		WaveChart("wave", "t", "c", Excerpt{}), RecordChart("record", "t", "c", NewExtremes(), 0, 1), TeethChart("teeth", "t", "c", nil),
		AngleChart("angle", "t", "c", nil, 720), SpeedChart("speed", "t", "c", nil),
	} {
		wellFormed(t, c)
		if len(c.Numbers) == 0 || c.Caption == "" {
			t.Errorf("%s has no numbers or no caption", c.Name)
		}
	}
	ring := teeth.Dots[1]
	if ring.Mark != Ring || len(ring.At) != 1 || ring.At[0].X != 2 {
		t.Errorf("ringed: %+v, want tooth 2", ring)
	}
	marks := WaveChart("wave", "t", "c", x).Numbers[1]
	for i, want := range []string{"top of tooth 7", "armed", "counted", "top of tooth 8", "not counted", "counted beside a tooth"} {
		if got := marks.Rows[i][2].Text; got != want {
			t.Errorf("mark %d is %q, want %q", i, got, want)
		}
	}
}

// A picture with many events stays small, and says how many there were.
func TestManyEvents(t *testing.T) {
	var events []replay.Place
	for i := range 50000 {
		events = append(events, replay.Place{CrankDeg: math.Mod(float64(i)*137.5, 360), RPM: 3000 + float64(i%500)})
	}
	c := AngleChart("angle", "t", "c", events, 360)
	if n := len(c.Numbers[0].Rows); n != mostRows || c.Numbers[0].Title != "the first 400 of 50000 events" {
		t.Errorf("%d rows under %q", n, c.Numbers[0].Title)
	}
	if size := len(pageOf(t, Document{Sentence: "Many.", Sections: []Section{{Charts: Drawn(c)}}})); size > 2<<20 {
		t.Errorf("the page has %d bytes", size)
	}
}
