package lobes

import (
	"armcurve/captures/teeth/polyfit"
)

// Form is how the lobe of one tooth of the wheel differs from the mean: how many times as
// high it is, and what is left beyond that, as far as noise does not account for it. A
// tooth beside a gap has another form, and so have those that run out.
type Form struct {
	n     float64
	times float64 // mean
	left  coefficients
	top   float64 // of such a lobe over the mean's
	since int     // lobes until that is told anew
}

// coefficients are those of a polynomial through what is left before the tooth's place.
type coefficients = [polyfit.MaxOrder + 1]float64

const (
	formPoints = 12 // that it goes through
	perPoint   = Before / formPoints
	formFrom   = 8    // lobes that tell a form
	doubtOver  = 1000 // lobes of all teeth
)

// Doubt is the variance of single coefficients, by all teeth of the wheel.
type Doubt struct {
	n       float64
	squares coefficients
}

// Usual is how many times as high as the mean the tooth is, as far as that is known.
func (f *Form) Usual() float64 {
	if f.n == 0 {
		return 1
	}
	return f.times
}

// Tells tells that there are enough lobes.
func (f *Form) Tells() bool { return f.n >= formFrom }

// Learn takes a lobe of the tooth that is so many times as high as the mean.
func (f *Form) Learn(m *Mean, l *Lobe, turn, times float64, doubt *Doubt) {
	var points [formPoints]float64
	for i := range points {
		for c := i * perPoint; c < (i+1)*perPoint; c++ {
			points[i] += l[c]*turn - times*m.wave[c]
		}
		points[i] /= perPoint
	}
	var fit polyfit.Fit
	fit.Even(points[:], polyfit.MaxOrder)
	f.n = min(f.n+1, m.formOver())
	f.times += (times - f.times) / f.n
	for k, a := range fit.Coefficients() {
		f.left[k] += (a - f.left[k]) / f.n
	}
	if f.n > 1 {
		doubt.learn(fit.Coefficients(), &f.left, f.n/(f.n-1))
	}
	if f.since--; f.since <= 0 {
		f.top, f.since = m.topOf(f, &fit, doubt)/(f.times*m.top), toldEvery
	}
}

func (d *Doubt) learn(a, mean *coefficients, share float64) {
	d.n = min(d.n+1, doubtOver)
	for k := range a {
		off := a[k] - mean[k]
		d.squares[k] += (off*off*share - d.squares[k]) / d.n
	}
}

// topOf is the top of a tooth's lobe: of the mean one with what the tooth's differs by.
func (m *Mean) topOf(f *Form, fit *polyfit.Fit, doubt *Doubt) float64 {
	share := f.surely(doubt)
	if share == 0 {
		return f.times * m.top
	}
	for k, left := range f.left {
		fit.Coefficients()[k] = share * left
	}
	bent := fit.Polynomial(polyfit.MaxOrder)
	own := m.wave
	for c := range own {
		x := (2*float64(c)+1)/Before - 1
		own[c] *= f.times
		if c < Before {
			own[c] += bent.At(x)
		}
	}
	return own.crown().top(&own, m.slopes*m.chance, m.smear)
}

// surely is the part of what is left that is hardly chance (the positive part of W. James
// and C. Stein's estimate), where the one that chance leaves most of is looked for.
func (f *Form) surely(doubt *Doubt) float64 {
	const chance = 18 // that six squares are together in one tooth of a wheel
	sum := 0.0
	for k, left := range f.left {
		sum += left * left / (doubt.squares[k] / f.n)
	}
	if !f.Tells() || !(sum > chance) {
		return 0
	}
	return 1 - chance/sum
}

// TopV is the height of one of its lobes so many times as high as the mean whose turn is
// so long.
func (f *Form) TopV(m *Mean, times, turn float64) float64 {
	if f.n == 0 {
		return m.TopV(times, turn)
	}
	return m.TopV(times*f.top, turn)
}
