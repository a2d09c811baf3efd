package teeth

const (
	disturbedTimes = 1.2 // what the wave usually reaches
	disturbedTurns = 5   // at least
)

// disturbed tells which teeth of the wheel something strikes in most turns, as a
// spark at its angle does: there the wave goes clearly farther than about other
// teeth, or did one tooth before. What is measured of their peaks says more of
// that than of the teeth.
func (g *gatherer) disturbed() []bool {
	n := len(g.farthest)
	means := make([]float64, n)
	for j, f := range g.farthest {
		means[j] = f.mean
	}
	most := disturbedTimes * median(means)
	is := make([]bool, n)
	for j, f := range g.farthest {
		if f.n >= disturbedTurns && f.mean > most && !g.pattern.afterGap(j) {
			is[j], is[(j+1)%n] = true, true
		}
	}
	return is
}
