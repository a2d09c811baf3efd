package teeth

import "math"

const (
	disturbedTimes  = 1.12 // what the wave usually reaches about the teeth near by: a wheel may run out
	disturbedSurely = 4    // standard deviations of a tooth's mean height, by as much as which noise takes no one farther
	disturbedTurns  = 5    // at least
)

// disturbed tells which teeth of the wheel something strikes in most turns, as a
// spark at its angle does: there the wave goes clearly farther than about other
// teeth, or did one tooth before. What is measured of their peaks says more of
// that than of the teeth.
func (g *gatherer) disturbed() []bool {
	n := len(g.farthest)
	near := max(2, n/9)
	means := make([]float64, n+2*near) // beginning and ending with those of the turns beside
	for i := range means {
		means[i] = g.farthest[((i-near)%n+n)%n].mean
	}
	usual := medians(means, near)[near:]
	is := make([]bool, n)
	for j, f := range g.farthest {
		chance := disturbedSurely * math.Sqrt(g.scatter.mean/max(1, f.n))
		if f.n >= disturbedTurns && f.mean > max(disturbedTimes, 1+chance)*usual[j] && !g.pattern.afterGap(j) {
			is[j], is[(j+1)%n] = true, true
		}
	}
	return is
}
