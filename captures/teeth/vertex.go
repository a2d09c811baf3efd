package teeth

import "math"

// vertex is the place of the peak before the fall, in parts of what the pulse
// is measured by.
type vertex struct {
	place  float64
	lean   float64 // by which the top is nearer to the fall, a lobe being steeper there
	leans  float64 // teeth that tell it
	n      float64
	newest float64  // place of the last tooth's own
	jitter float64  // variance of single places, told by how neighbours differ
	moved  slotGain // the part of it that is noise's, by what is left of the fits
	course float64  // variance of what places have in common with those near by
	bend   float64  // of the tops, of their height per unit squared
	misfit float64  // usual one of the fit, as a share of a tooth's amplitude
	bias   fitBiases
}

// isMarred tells that a fit's misfit, as a share, is that of something which
// hardly ever lies over a peak.
func (v *vertex) isMarred(misfit float64) bool {
	isOdd := v.n > vertexFrom && misfit > marredTimes*v.misfit+marredShare
	v.misfit += (min(misfit, marredTimes*v.misfit+marredShare) - v.misfit) / v.n
	return isOdd
}

func (v *vertex) learn(place float64) {
	const courseOver = 80 // teeth
	v.n = min(v.n+1, 20)
	off := place - v.place
	v.place += off / v.n
	if v.n > 1 {
		d := place - v.newest
		v.jitter += (d*d/2 - v.jitter) / (v.n - 1)
		v.course += (off*off - d*d/2 - v.course) / courseOver
	}
	v.newest = place
}

// held is the part of the way from a tooth's own vertex to the mean place, off by so much,
// at which its peak is taken: so that peaks are lowered by that as much as noise raises
// those at their own vertex. What is off by far more than noise is the engine's doing, or
// the tooth's (L. Breiman's nonnegative garrote again).
func (v *vertex) held(off float64) float64 {
	const (
		chance = 0.15 // of the jitter, that the course may be by chance
		most   = 9    // times the variance
	)
	noise := v.noise()
	return min(math.Sqrt(noise/(v.jitter+max(0, v.course-chance*v.jitter))), most*noise/(off*off))
}

// noise is the variance that noise gives single places, at most: it moves neighbours
// apart, and not by much more than what is left of the fits tells.
func (v *vertex) noise() float64 {
	const enough = 5 // teeth that tell what is left
	if v.moved.n < enough {
		return v.jitter
	}
	return min(v.jitter, noiseMost*v.moved.mean)
}

// raised is by what part of its height a tooth's own vertex is too high in the mean, if
// noise moves it so: the top of a noisy curve is higher than the curve by half its bend
// times the square of that.
func (v *vertex) raised(variance float64) float64 { return v.bend * variance / 2 }

// isSharp tells that a tooth's own vertex is hardly raised by noise.
func (v *vertex) isSharp() bool {
	const little = 0.0003
	return v.n < vertexFrom || v.raised(v.noise()) < little
}

// isCalm tells that places hardly differ.
func (v *vertex) isCalm() bool {
	const little = 0.0045
	return v.n >= vertexFrom && v.raised(v.jitter) < little
}

const (
	vertexFrom    = 4    // teeth from which the next one's vertex is looked for where theirs were
	noiseMost     = 3    // times the variance that the fits tell: of noise that is not white less is left of them
	fewestTelling = 9    // points that tell their noise beside a polynomial
	marredTimes   = 2.5  // usual misfits and
	marredShare   = 0.02 // share of the amplitude beyond which a peak is marred
)

// learnNoise learns from a fit how far noise moves a tooth's own vertex, and how much that
// matters, the top being so sharp. The vertex is the slope over the bend, and a slope of
// the third order or the fourth has a variance of 75/4 of the points' over their number;
// noiseV is what the fall tells of that. Few points do not tell.
func (v *vertex) learnNoise(f *points, unit, noiseV, amplitude float64) {
	_, bend := f.Parabola()
	perUnit := unit / f.half
	v.bend += (max(0, -bend)*perUnit*perUnit/amplitude - v.bend) / v.n
	if f.Count() < fewestTelling {
		return
	}
	square := 10 * v.jitter // at most: few single ones do not outweigh all others
	if bend < 0 {
		moved := max(noiseV, f.Misfit(min(4, f.Highest()))) / (bend * perUnit)
		square = min(75.0/4/float64(f.Count())*moved*moved, square)
	}
	v.moved.learnOver(square, v.n)
}

// learnLean learns how far a lobe leans, that is, how far its top is from that of the
// parabola: noise moves both.
func (v *vertex) learnLean(lean float64) {
	const leanOver = 40 // teeth
	v.leans = min(v.leans+1, leanOver)
	v.lean += (lean - v.lean) / v.leans
}
