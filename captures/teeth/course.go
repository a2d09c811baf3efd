package teeth

import (
	"math"
	"slices"

	"armcurve/captures/teeth/noise"
)

// course is one turn of the wheel as it passed on the whole. How fast it was rests
// on when the same tooth passed again: a mean of the speeds between neighbours would
// be too high, as what moves the fall of a tooth, like a gap beside it, shortens one
// interval and lengthens the next, which is a lesser part of that if it is longer.
type course struct{ from, to float64 } // positions

// speed is the mean over the turn, turns per sample.
func (c *course) speed() float64 { return 1 / (c.to - c.from) }

// gain is by how much speed grows per sample from the middle of one turn to that of
// the next.
func (c *course) gain(next *course) float64 {
	return 2 * (next.speed() - c.speed()) / (next.to - c.from)
}

// fromMiddle is the distance of a position from the turn's middle.
func (c *course) fromMiddle(position float64) float64 { return position - (c.from+c.to)/2 }

// halfOf tells which turn of the engine's cycle one is, when it follows the one before,
// after a break as well: of a wheel on the cam always the same.
func (g *gatherer) halfOf(c *course) int {
	if before := &g.before; !g.onCam && before.to > before.from {
		turns := 1 + math.Round((c.from-before.to)*(before.speed()+c.speed())/2)
		g.half = (g.half + int(turns)) % 2
	}
	return g.half
}

// place puts a turn into the bin of the speed at its peaks, which need not lie about
// its middle: least of all a single tooth's. That takes what speed gained from the
// turn before, and so the first of several in a row waits for the second.
func (g *gatherer) place(t *turnSum) {
	before := g.before
	g.before = t.course
	if before.to != t.course.from {
		g.placeFirst(0)
		g.first = t.kept()
		t.noise, g.noise = g.first.noise, noise.ByMethod{}
		return
	}
	gain := before.gain(&t.course)
	g.placeFirst(gain)
	t.seenPace = g.seenPaces(t, gain)
	g.placeAt(t, gain, true)
}

// seenPaces is how fast the teeth seem to pass, over how fast they do as the turn's
// course tells: a gap beside a tooth moves its fall, at the same speed always by as much.
func (g *gatherer) seenPaces(t *turnSum, gain float64) []float64 {
	for j := range g.turn {
		tooth := &g.turn[j]
		g.seen[j] = tooth.atPeak / (t.speed + gain*t.course.fromMiddle(tooth.top))
	}
	return g.seen
}

// placeFirst is place for the turn that waits, if one does.
func (g *gatherer) placeFirst(gain float64) {
	if g.first != nil {
		g.placeAt(g.first, gain, false)
		g.first = nil
	}
}

// placeAt puts a turn into the bin of the speed at its peaks, as speed grows from the turn
// before, if it follows one.
func (g *gatherer) placeAt(t *turnSum, gain float64, follows bool) {
	t.toothRPM = (t.speed + gain*t.peakAt) * g.turnRPM
	own, before := g.bins.add(t, len(t.level))
	g.placeNoise(t, own, before, follows)
	if math.Abs(gain)*(t.course.to-t.course.from) < (mostChanged-1)*t.speed {
		g.spikes.EndTurn(t.toothRPM, t.extents)
	}
}

// placeNoise gives a turn's noise to its bin and to the one of the turn before, where that
// was about as fast.
func (g *gatherer) placeNoise(t *turnSum, own, before *bin, follows bool) {
	isSame := before == own
	if before == nil || !follows || !within(t.toothRPM, before.rpmMean(), mostChanged) {
		before = own
	}
	own.noise.Add(t.noise, &before.noise)
	g.schedule.Samples = 0 // where the turn before had another speed, as the next may have
	if isSame {
		g.schedule.Samples = own.noise.Samples()
	}
	g.tones.EndTurn(&own.noise, &before.noise, t.course.from, t.course.to, g.schedule.Samples)
}

// kept is a turn with memory of its own.
func (t *turnSum) kept() *turnSum {
	own, left := *t, *t.noise
	own.relative, own.level = slices.Clone(t.relative), slices.Clone(t.level)
	own.pace, own.flux = slices.Clone(t.pace), slices.Clone(t.flux)
	own.noise = &left
	own.extents = slices.Clone(t.extents)
	return &own
}
