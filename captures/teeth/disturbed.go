package teeth

import (
	"math"
	"slices"

	"armcurve/captures/teeth/median"
)

const (
	disturbedTimes  = 1.12 // what the wave usually reaches about the teeth near by: a wheel may run out
	disturbedSurely = 4    // standard deviations of a tooth's mean height, by as much as which noise takes no one farther
	disturbedTurns  = 5    // at least
	betweenTeeth    = 1.15 // how far a wave that nothing strikes goes at most, over the higher peak of two of which the speed between is the highest
)

// disturbed tells which teeth of the wheel something strikes in most turns, as a
// spark at its angle does: there the wave goes clearly farther than about other
// teeth, or did one tooth before, and it is not that the tooth changes the flux more than
// others, by half of that at least. What is measured of their peaks says more of that than
// of the teeth.
func (g *gatherer) disturbed() []bool {
	n := len(g.farthest)
	usual, usualFlux, short := usualNear(g.farthest), usualNear(g.pulses), g.short()
	is := make([]bool, n)
	for j, f := range g.farthest {
		if short[j] || short[(j+n-1)%n] || g.pattern.AfterGap(j) {
			continue
		}
		chance := disturbedSurely * math.Sqrt(g.scatter.mean/max(1, f.n))
		before := (j + n - 1) % n
		reach := usual[j]
		if !g.calm {
			reach = max(reach, betweenTeeth)
		}
		times, ownTimes := f.mean/reach, max(g.pulses[j].mean/usualFlux[j], g.pulses[before].mean/usualFlux[before])
		isOwn := ownTimes-1 > (times-1)/2
		if f.n >= disturbedTurns && times > max(disturbedTimes, 1+chance) && !isOwn {
			is[j], is[(j+1)%n] = true, true
		}
	}
	for j, onTop := range g.struckOnTop() {
		is[j] = is[j] || onTop
	}
	return is
}

const (
	dentLeast = 0.02 // how much lower than those near by a tooth is that has a dent, or higher one that is lifted
	onTop     = 0.7  // of that, what its pulse lacks at most: amid a half and all

	behindLeast = 0.1 // of half a pulse, that is lost behind a tooth
)

// struckOnTop tells which teeth seem low because something takes from the wave on their
// tops in most turns, or seem high because it adds to it. What the wheel does to the flux
// comes back: behind a tooth of any height or form, the spaces are as deep as before. What
// a spark takes is missing for good, and from the whole pulse a half as much in
// proportion, if it lies on the top alone: so the pulse lacks about half of what the height
// does, or less. Of a short tooth it lacks as much, unless a spark close behind swings the
// wave back; and a narrow spark shows where it lies. What a spark adds may lie anywhere on
// the tooth, if none beside lacks it: behind a short tooth the next one is higher. What is
// missing behind a tooth that is as high as others is so at the foot of the next one. Where
// the speed ripples in every turn, the heights at it do not tell.
func (g *gatherer) struckOnTop() []bool {
	if !g.calm {
		return nil
	}
	dips := g.spikes.Dips(g.pattern.Wheel)
	usual, usualFlux, usualStep := usualNear(g.gains), usualNear(g.pulses), usualNear(g.steps)
	n := len(g.gains)
	is, step, sizes := make([]bool, n), make([]float64, n), make([]float64, n)
	for j := range step {
		step[j] = 2 * (g.steps[j].mean - usualStep[j]) // of half a pulse, which is the rise or the fall
		sizes[j] = math.Abs(step[j])
	}
	surely := disturbedSurely * median.Deviation * median.Of(sizes)
	for j := range is {
		if f := &g.steps[j]; f.n < disturbedTurns || !g.pattern.Amid(j) {
			continue
		}
		missing, lacking := 1-g.gains[j].mean/usual[j], 1-g.pulses[j].mean/usualFlux[j]
		isLifted, way := missing < 0, math.Copysign(1, missing)
		missing, lacking = way*missing, way*lacking
		lost := min(way*step[j], way*(step[(j+n-1)%n]+step[j]+step[(j+1)%n]))
		isOnTop := lacking < onTop*missing
		if at := dips[j]; at.Told() {
			isOnTop = at.Top > at.Behind
		}
		isStruck := within(lacking, lost/2, 3) && isOnTop
		if isLifted {
			isStruck = isUnanswered(step, j)
		}
		is[j] = is[j] || missing > dentLeast && lost > max(missing/2, surely) && isStruck
		if behind := math.Abs(step[j]); behind > max(behindLeast, surely) && math.Abs(missing) < behind/4 && isAlone(step, j) {
			is[(j+1)%n] = true
		}
	}
	return is
}

// isAlone tells that two teeth on either side have hardly a step as large as one's: about
// a tooth that is short or worn those of its neighbours are as large, and opposite.
func isAlone(step []float64, j int) bool { return len(largeBeside(step, j)) == 0 }

// isUnanswered tells that none of these has such a step the other way.
func isUnanswered(step []float64, j int) bool {
	return !slices.ContainsFunc(largeBeside(step, j), func(beside float64) bool { return beside*step[j] < 0 })
}

// largeBeside are the steps of two teeth on either side that are nearly as large as one's.
func largeBeside(step []float64, j int) (large []float64) {
	for _, d := range []int{-2, -1, 1, 2} {
		if beside := step[(j+d+len(step))%len(step)]; math.Abs(beside) > math.Abs(step[j])/3 {
			large = append(large, beside)
		}
	}
	return large
}

// short tells which teeth are lower than those near by and change the flux as much
// less, which a dent in the wave hardly does. About such a tooth the wave swings
// farther, but that is the wheel's doing: next to it the flux falls lower, and
// climbs from there.
func (g *gatherer) short() []bool {
	usual, usualFlux := usualNear(g.gains), usualNear(g.pulses)
	is := make([]bool, len(g.gains))
	for j := range is {
		missing, lacking := 1-g.gains[j].mean/usual[j], 1-g.pulses[j].mean/usualFlux[j]
		is[j] = missing > 1-shortShare && lacking > missing/2
	}
	return is
}

// usualNear is the median mean of the teeth near each one of the wheel.
func usualNear(teeth []slotGain) []float64 {
	n := len(teeth)
	near := max(2, n/9)
	means := make([]float64, n+2*near) // beginning and ending with those of the turns beside
	for i := range means {
		means[i] = teeth[((i-near)%n+n)%n].mean
	}
	return median.Running(means, near)[near:][:n]
}
