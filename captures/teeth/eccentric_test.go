package teeth

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// eccentric is a wheel that runs out: the height of its teeth goes as 1 + runOut·cos
// of the angle, over a turn. It shares nothing with package simulate.
type eccentric struct {
	wheel   string
	lobe    func(u float64) float64 // voltage over pitches from a tooth, of any height
	runOut  float64
	twice   bool    // of twice the angle instead: the wheel is oval
	phase   float64 // of the run-out, turns
	rpm     [2]float64
	seconds float64
	hz      float64
	noise   float64 // V, where a mean tooth makes 1 V at 1000 rpm
}

// What the flux of a tooth may look like: its slope over pitches.
var lobeShapes = map[string]func(u float64) float64{
	"gauss": func(u float64) float64 { return -u / 0.2 * math.Exp(-u*u/0.08) },
	"sine": func(u float64) float64 {
		if math.Abs(u) > 0.5 {
			return 0
		}
		return -math.Sin(2 * math.Pi * u)
	},
	"flat top": func(u float64) float64 {
		slope := func(x float64) float64 { c := math.Cosh(8 * x); return 1 / (c * c) }
		return slope(u+0.25) - slope(u-0.25)
	},
	"wide feet": func(u float64) float64 {
		x := u / 0.306
		return -x / math.Pow(1+x*x, 3)
	},
}

func (e *eccentric) samples(t testing.TB) (v []float64, turns float64) {
	w := wheel(t, e.wheel)
	const cells = 400 // in a pitch
	table := make([]float64, cells*w.Pitches)
	for _, p := range w.Positions {
		angle := 2 * math.Pi * (float64(p)/float64(w.Pitches) + e.phase)
		if e.twice {
			angle *= 2
		}
		gain := 1 + e.runOut*math.Cos(angle)
		for d := -3 * cells; d <= 3*cells; d++ {
			at := (p*cells + d + len(table)) % len(table)
			table[at] += gain * e.lobe(float64(d)/cells)
		}
	}
	single := 0.0
	for u := -0.5; u < 0; u += 0.001 {
		single = max(single, e.lobe(u))
	}
	random := rand.New(rand.NewPCG(3, 4))
	v = make([]float64, int(e.seconds*e.hz))
	turns = 0.3
	for i := range v {
		rpm := e.rpm[0] + (e.rpm[1]-e.rpm[0])*float64(i)/float64(len(v))
		x := (turns - math.Floor(turns)) * float64(len(table))
		k := int(x)
		x -= float64(k)
		v[i] = (table[k%len(table)]*(1-x)+table[(k+1)%len(table)]*x)/single*rpm/1000 + e.noise*random.NormFloat64()
		turns += rpm / 60 / e.hz
	}
	return v, turns - 0.3
}

// TestEccentric: however much a wheel runs out, it is found as it is, each of its
// teeth from the first on, and the right way round.
func TestEccentric(t *testing.T) {
	for _, text := range []string{"36-1", "60-2", "24-1", "12-1", "24", "36-2-2-2"} {
		for name, lobe := range lobeShapes {
			for _, runOut := range []float64{0.35, 0.45, 0.55} {
				for _, rpm := range [][2]float64{{800, 3000}, {3000, 3000}} {
					phase := 0.35 * math.Round(10*(runOut-0.35))
					checkEccentric(t, eccentric{wheel: text, lobe: lobe, runOut: runOut, phase: phase, rpm: rpm, seconds: 0.8, hz: 100e3, noise: 0.01}, name)
				}
			}
		}
	}
}

func checkEccentric(t *testing.T, e eccentric, name string) {
	t.Helper()
	v, turns := e.samples(t)
	m, err := Measure(wave(v, 1/e.hz, 8192), statedIf(t, e.wheel))
	if err != nil {
		t.Fatal(err)
	}
	expected := turns * float64(wheel(t, e.wheel).TeethPresent())
	isRight := m.Wheel.String() == e.wheel && (m.Polarity == Normal || e.wheel == "24" && m.Polarity == Unknown)
	if !isRight || math.Abs(float64(m.Teeth)-expected) > 3 || m.Unseen > 0 {
		t.Errorf("%s, %s, ±%.0f %%, %.0f rpm: wheel %q, %d of %.0f teeth, %d unseen, polarity %s; %s",
			e.wheel, name, 100*e.runOut, e.rpm[0], m.Wheel, m.Teeth, expected, m.Unseen, m.Polarity, m.WheelWhy)
	}
}

// TestOval: the teeth of an oval wheel swing twice a turn, and those at the bottom of it
// are not short.
func TestOval(t *testing.T) {
	for _, text := range []string{"36-1", "60-2", "24-1", "36-2-2-2"} {
		for _, oval := range []float64{0.15, 0.35} {
			e := eccentric{wheel: text, lobe: lobeShapes["gauss"], runOut: oval, twice: true, phase: 0.1, rpm: [2]float64{3000, 3000}, seconds: 0.8, hz: 200e3, noise: 0.01}
			v, _ := e.samples(t)
			m, err := Measure(wave(v, 1/e.hz, 8192), statedIf(t, e.wheel))
			if err != nil {
				t.Fatal(err)
			}
			told := false
			for _, f := range m.Findings {
				told = told || f.Kind == "run-out" && strings.Contains(f.Text, "twice")
			}
			if !told || has(m, "short-tooth") {
				t.Errorf("%s, oval by ±%.0f %%: findings %v", text, 100*oval, m.Findings)
			}
		}
	}
}
