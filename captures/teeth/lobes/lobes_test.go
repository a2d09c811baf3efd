package lobes

import (
	"math"
	"math/rand/v2"
	"testing"
)

// sine is the lobe of a tooth: at turns that are one sample long, so that heights are those
// of the mean.
func sine(height, noise float64, random *rand.Rand) (l Lobe) {
	for i := range l {
		u := (float64(i) + 0.5 - Before) / PerPitch
		l[i] = -height*math.Sin(2*math.Pi*u) + noise*random.NormFloat64()
	}
	return l
}

func learnt(n int, noise, smear float64, random *rand.Rand) *Mean {
	m := new(Mean)
	for range n {
		off := smear * random.NormFloat64()
		l := sine(1, noise, random)
		for i := range l {
			u := (float64(i) + 0.5 - Before) / PerPitch
			l[i] += math.Sin(2*math.Pi*u) - math.Sin(2*math.Pi*(u+off))
		}
		m.Learn(&l, 1, 1, smear*smear)
	}
	return m
}

// TestTop: neither noise in the mean nor in the places of its lobes moves its height.
func TestTop(t *testing.T) {
	for _, c := range []struct {
		n            int
		noise, smear float64
	}{{60, 0.25, 0}, {400, 0.5, 0}, {400, 0.1, 0.03}} {
		const means = 400
		random := rand.New(rand.NewPCG(1, 2))
		sum := 0.0
		for range means {
			sum += learnt(c.n, c.noise, c.smear, random).TopV(1, 1)
		}
		if off := sum/means - 1; math.Abs(off) > 0.005 {
			t.Errorf("%v: the height is off by %+.2f %%", c, 100*off)
		}
	}
}

// TestFit: a lobe's height is told by all of it, whatever strikes a part of it.
func TestFit(t *testing.T) {
	const noise, teeth = 0.1, 2000
	random := rand.New(rand.NewPCG(3, 4))
	m := learnt(1000, noise, 0, random)
	sum, squares, struck := 0.0, 0.0, 0
	for i := range teeth {
		l := sine(0.8, noise, random)
		if isStruck := i%2 == 0; isStruck {
			for c := 10; c < 16; c++ {
				l[c] += 1
			}
		}
		times, isStruck, ok := m.Fit(&l, Cells, 1, 0.8)
		if !ok || i%2 == 0 && !isStruck {
			t.Fatalf("tooth %d: struck %v, ok %v", i, isStruck, ok)
		}
		if isStruck {
			struck++
		}
		sum, squares = sum+times, squares+times*times
	}
	mean := sum / teeth
	sd := math.Sqrt(squares/teeth - mean*mean)
	if usual := noise / math.Sqrt(Cells/2); math.Abs(mean-0.8) > 0.002 || sd > 1.2*usual || struck > teeth/2+10 {
		t.Errorf("heights %.4f ± %.4f, want 0.8 ± %.4f; %d of %d struck", mean, sd, usual, struck, teeth)
	}
	l := sine(0, noise, random)
	for c := range l {
		l[c] += 2
	}
	if _, _, ok := m.Fit(&l, Cells, 1, 1); ok {
		t.Error("a height was told of what is struck throughout")
	}
}

// TestForm: a tooth of another form is as high as it is, not as the mean tells.
func TestForm(t *testing.T) {
	const noise, turns = 0.2, 100
	random := rand.New(rand.NewPCG(5, 6))
	m := learnt(1000, noise, 0, random)
	var doubt Doubt
	for name, c := range map[string]struct{ broad, heightV float64 }{"alike": {0, 1}, "broader": {0.3, 1.15}} {
		var f Form
		sum := 0.0
		for i := range turns {
			l := sine(1, noise, random)
			for j := range Before {
				u := (float64(j) + 0.5) / Before
				l[j] += c.broad * u * (1 - u) * 4 / 2
			}
			times, _, _ := m.Fit(&l, Before, 1, f.Usual())
			f.Learn(m, &l, 1, times, &doubt)
			if i >= turns/2 {
				sum += f.TopV(m, times, 1)
			}
		}
		if height := sum / (turns / 2); math.Abs(height-c.heightV) > 0.02 {
			t.Errorf("%s: height %.3f, want %.3g", name, height, c.heightV)
		}
	}
}

// TestRatio: lobes put together tell the height that they were each told too low by.
func TestRatio(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	m := learnt(300, 0.1, 0, random)
	var s, other Sum
	for i := range 400 {
		l := sine(1, 0.1, random)
		if i%2 == 0 {
			s.Add(m, &l, 1, 0.97)
		} else {
			other.Add(m, &l, 1, 0.97)
		}
	}
	s.Merge(&other)
	if r := s.Ratio(); math.Abs(r*0.97-1) > 0.005 {
		t.Errorf("ratio %.4f, want %.4f", r, 1/0.97)
	}
}
