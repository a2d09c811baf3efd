// Package lobes tells how high teeth rise in strong noise: each by how well the wave about
// it agrees with the mean of that about many, in which noise is quietened. All of a tooth's
// wave tells its height so, not what is about its top alone, and the top is where that
// of the mean is: noise neither raises a height nor lowers it, and moves it least.
package lobes

import (
	"math"

	"armcurve/captures/teeth/polyfit"
)

// A lobe is looked at in cells of a part of a pitch, over the half-wave before the tooth's
// place and that behind.
const (
	PerPitch = 48
	Before   = PerPitch * 3 / 4
	Cells    = Before + PerPitch*3/8
)

// Lobe is the mean of the wave in each cell about a tooth, volts from rest.
type Lobe [Cells]float64

// Mean is that of many lobes, each times the length of a turn at its speed, as a tooth
// rises about as its speed. A coil's wave has another form at another speed: what was at
// one is forgotten.
type Mean struct {
	wave   Lobe
	n      float64 // lobes that it is about the mean of
	turn   float64 // logarithm of their turns' length, mean
	late   float64 // and that of late
	square float64 // mean of what single cells are off, volts squared
	chance float64 // share of a single lobe's variance that the mean has
	slopes float64 // variance of a single one's slope about the top
	smear  float64 // variance of the lobes' places, cells squared
	crown  crown
	top    float64 // of the wave
	since  int     // lobes until that is told anew
}

const (
	enough     = 60   // lobes that tell the mean
	mostOver   = 3000 // lobes that it is the mean of at most
	fading     = 0.98 // of them, that are left with each lobe at another speed
	lateOver   = 30   // lobes that tell the speed of late
	sameSpeed  = 0.05 // change of it that changes little
	squareOver = 300  // lobes that the noise is the mean of
	toldEvery  = 8    // lobes, for the top to be told anew
	most       = 0.02 // of a top, by which noise raises or lowers it
	farOff     = 4.5  // standard deviations, by which something struck a cell
	mostly     = 0.5  // of what tells a height has to be left
)

// Tells tells that there are enough teeth in the mean.
func (m *Mean) Tells() bool { return m.n >= enough }

// Share is the noise about the teeth as a share of the height of one whose turn is so
// long; 0 where that is not told yet.
func (m *Mean) Share(turn float64) float64 {
	if !m.Tells() {
		return 0
	}
	return math.Sqrt(m.square) * turn / m.top
}

// Fit is how many times as high as the mean a lobe is whose turn is so long, by some of
// its first cells, and whether something struck it. Where it is about as high as usual,
// what is far off that is no tooth's doing; not ok where that is most of it.
func (m *Mean) Fit(l *Lobe, cells int, turn, usual float64) (times float64, isStruck, ok bool) {
	const rounds, little = 6, 1e-4
	limit := farOff * math.Sqrt(m.square) * turn
	times = usual
	for range rounds {
		before, left := times, 0.0
		if times, left = m.fitWithin(l, cells, turn, times, limit); left < mostly {
			return usual, true, false
		}
		isStruck = left < 1
		if math.Abs(times-before) < little {
			break
		}
	}
	return times, isStruck, true
}

// fitWithin is how many times as high as the mean a lobe is by the cells within a limit
// of what so many times make it, and the part that these are of what tells a height.
func (m *Mean) fitWithin(l *Lobe, cells int, turn, times, limit float64) (better, left float64) {
	var product, squares, all float64
	for i, v := range m.wave[:cells] {
		x, square := l[i]*turn, v*v
		all += square
		if math.Abs(x-times*v) <= limit {
			product, squares = product+x*v, squares+square
		}
	}
	return product / squares, squares / all
}

// Learn takes a lobe into the mean that is so many times as high, whose place is in doubt
// by such a variance, pitches squared.
func (m *Mean) Learn(l *Lobe, turn, times, doubt float64) {
	m.followSpeed(math.Log(turn))
	var left Lobe
	squares, weight := 0.0, 1/m.n
	for i, v := range l {
		left[i] = v*turn - times*m.wave[i]
		squares += left[i] * left[i]
		m.wave[i] += (v*turn - m.wave[i]) * weight
	}
	m.smear += (doubt*PerPitch*PerPitch - m.smear) * weight
	m.chance = (1-weight)*(1-weight)*m.chance + weight*weight
	m.learnNoise(&left, squares/Cells/(turn*turn))
	if m.since--; m.since <= 0 {
		m.crown, m.since = m.wave.crown(), toldEvery
		m.top = m.crown.top(&m.wave, m.slopes*m.chance, m.smear)
	}
}

// learnNoise learns from what is left of a lobe, but of the first one.
func (m *Mean) learnNoise(left *Lobe, square float64) {
	if m.n < 2 {
		return
	}
	slope := m.crown.slope(left)
	weight := 1 / min(m.n-1, squareOver)
	m.square += (square - m.square) * weight
	m.slopes += (slope*slope - m.slopes) * weight
}

// formOver is the number of lobes of one tooth that its form is the mean of.
func (m *Mean) formOver() float64 {
	if m.isChanging() {
		return 30
	}
	return 200
}

// isChanging tells that the speed of late differs from that of all.
func (m *Mean) isChanging() bool { return math.Abs(m.late-m.turn) > sameSpeed }

// followSpeed weighs the next lobe, by how the speed changes.
func (m *Mean) followSpeed(turn float64) {
	if m.n++; m.n > enough && m.isChanging() {
		m.n *= fading
	}
	m.n = min(m.n, mostOver)
	m.turn += (turn - m.turn) / m.n
	m.late += (turn - m.late) / min(m.n, lateOver)
}

// TopV is the height of a lobe so many times as high as the mean whose turn is so long.
func (m *Mean) TopV(times, turn float64) float64 { return times * m.top / turn }

// crown is where a wave is highest: a cell, and how many cells on either side are not
// far lower.
type crown struct{ best, reach int }

func (l *Lobe) crown() crown {
	const least, farthest, high = 2, 7, 0.7
	c := crown{farthest, least}
	for i := farthest; i < Before; i++ {
		if l[i] > l[c.best] {
			c.best = i
		}
	}
	for c.reach < farthest && min(l[c.best-c.reach-1], l[c.best+c.reach+1]) > high*l[c.best] {
		c.reach++
	}
	return c
}

// through is the polynomial through the cells there.
func (c crown) through(l *Lobe) polyfit.Polynomial {
	const order = 4
	var f polyfit.Fit
	f.Even(l[c.best-c.reach:c.best+c.reach+1], order)
	return f.Polynomial(order)
}

// slope is that of a wave there.
func (c crown) slope(l *Lobe) float64 {
	if c.reach == 0 {
		return 0
	}
	bent := c.through(l)
	return bent.Slope(0)
}

// top is how high a wave is there. Noise in it raises the top where it moves it, by half
// the variance of the slope over the bend; and noise in the places of the lobes that it
// is the mean of lowers it, by half the variance of these times the bend.
func (c crown) top(l *Lobe, slopes, smear float64) float64 {
	bent := c.through(l)
	x := bent.Top(0)
	top, half := bent.At(x), float64(c.reach)+0.5
	if bend := bent.Bend(x); bend < 0 {
		top += min(smear/(half*half)*-bend/2, most*top) - min(slopes/(-2*bend), most*top)
	}
	return top
}
