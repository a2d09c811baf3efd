package leastsq

import (
	"math"
	"testing"
)

func mustPossible(t *testing.T, m Model, y []float64, rise float64) []Span {
	t.Helper()
	spans, err := Possible(m, y, nil, rise)
	if err != nil {
		t.Fatal(err)
	}
	return spans
}

func TestPossibleEndsAtTheRise(t *testing.T) {
	m := shaped(misraX, 1e-6, 1, saturating)
	fit := mustFit(t, m, misraY, nil)
	for _, rise := range []float64{0, 1e-3 * fit.SSE, fit.SSE, 100 * fit.SSE} {
		spans := mustPossible(t, m, misraY, rise)
		if len(spans) != 1 {
			t.Fatalf("rise %v: %d spans, want 1", rise, len(spans))
		}
		span := spans[0]
		first, last := span[0], span[len(span)-1]
		if first.Theta > fit.Theta*(1+1e-9) || last.Theta < fit.Theta*(1-1e-9) {
			t.Errorf("rise %v: %v to %v leaves out the fit's %v", rise, first.Theta, last.Theta, fit.Theta)
		}
		for _, end := range []Point{first, last} {
			relative(t, "SSE at the end", end.SSE, fit.SSE+rise, 1e-10)
		}
		for i, p := range span {
			if i > 0 && p.Theta <= span[i-1].Theta {
				t.Errorf("rise %v: thetas do not ascend: %v", rise, span)
			}
			if p.SSE > (fit.SSE+rise)*(1+1e-12) {
				t.Errorf("rise %v: theta %v has SSE %v, above %v", rise, p.Theta, p.SSE, fit.SSE+rise)
			}
			again, err := Profile(m, misraY, nil, p.Theta)
			if err != nil {
				t.Fatal(err)
			}
			relative(t, "linear part", p.Linear[0], again.Linear[0], 1e-9)
		}
	}
}

func TestPossibleIsQuadraticNearTheFit(t *testing.T) {
	// Without residuals, and close to the least, the profile rises by the square
	// of the distance over Unscaled.
	exact := make([]float64, len(misraX))
	for i, x := range misraX {
		exact[i] = 440 * rational(x, 3e-4)
	}
	m := shaped(misraX, 1e-6, 1, rational)
	const rise = 1e-6
	span := mustPossible(t, m, exact, rise)[0]
	width := span[len(span)-1].Theta - span[0].Theta
	fit := mustFit(t, m, exact, nil)
	relative(t, "width", width, 2*math.Sqrt(rise*fit.Unscaled[1][1]), 1e-6)
}

func TestPossibleInPieces(t *testing.T) {
	// y ≈ θ² cannot tell θ from −θ: with five readings of 1 and a rise of 5·0.3²,
	// θ² may be 0.7 to 1.3.
	m := Model{Lo: -3, Hi: 3, At: func(theta float64, offset []float64, _ [][]float64) {
		for i := range offset {
			offset[i] = theta * theta
		}
	}}
	y := []float64{1, 1, 1, 1, 1}
	spans := mustPossible(t, m, y, 5*0.3*0.3)
	if len(spans) != 2 {
		t.Fatalf("%d spans, want 2: %v", len(spans), spans)
	}
	inner, outer := math.Sqrt(0.7), math.Sqrt(1.3)
	for i, want := range [][2]float64{{-outer, -inner}, {inner, outer}} {
		span := spans[i]
		near(t, "lower end", span[0].Theta, want[0], 1e-12)
		near(t, "upper end", span[len(span)-1].Theta, want[1], 1e-12)
	}
}

func TestPossibleReachesTheEnds(t *testing.T) {
	n := geometric(250, 2000, 5)
	y := noisyLogs(seeded(1), n, 1e5, 0, rollOff)
	// Straight readings put a floor under the corner speed but no ceiling above.
	span := mustPossible(t, logRollOff(n), y, 10*0.02*0.02)[0]
	first, last := span[0], span[len(span)-1]
	if last.Theta != 1e6 {
		t.Errorf("upper end is %v, want 1e6", last.Theta)
	}
	if first.Theta < 1000 || first.Theta > 20000 {
		t.Errorf("lower end is %v, want a few times the highest reading", first.Theta)
	}
	relative(t, "SSE at the lower end", first.SSE, 10*0.02*0.02, 1e-4)

	flat := lineThroughOrigin(counting(1, 5))
	flat.Lo, flat.Hi = 1, 2
	span = mustPossible(t, flat, []float64{1, 2, 3, 4, 6}, 0)[0]
	if span[0].Theta != 1 || span[len(span)-1].Theta != 2 {
		t.Errorf("flat profile: %v to %v, want the whole range", span[0].Theta, span[len(span)-1].Theta)
	}
}

func TestPossibleWithoutSearch(t *testing.T) {
	spans := mustPossible(t, lineThroughOrigin([]float64{4, 5, 6}), []float64{3, 4, 4}, 1)
	if len(spans) != 1 || len(spans[0]) != 1 {
		t.Fatalf("spans = %v, want one point", spans)
	}
	relative(t, "linear", spans[0][0].Linear[0], 8.0/11, 1e-14)
}
