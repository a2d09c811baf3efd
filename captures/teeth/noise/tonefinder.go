package noise

import (
	"math"
	"slices"
)

// toneFinder finds steady tones in what is left of the wave when other teeth or other
// turns are taken away. A line in the spectrum tells about where; what the method
// would have left of such a tone is then fitted by least squares, so that its
// own amplitude is found however much of it the method lets through.
type toneFinder struct {
	spectrum seriesSpectrum
	pitches  float64 // of the wheel in a turn
}

const (
	mostTones   = 4
	mostRefused = 6
	mostTraces  = 4   // harmonics of the pitch that have some
	leastTurns  = 3   // that tell a tone from what comes again in each
	lineKept    = 0.1 // of a line's power that may be left where the tone is steady
	leastTone   = 0.1 // standard deviations of what is left: less is as good as none
)

// tone is a wave that is steady in one domain, or a trace of one.
type tone struct {
	rate     rates
	cos, sin float64 // volts
	errorV   float64 // standard error of its amplitude, by chance
}

// rates are cycles per sample and per turn of the wheel.
type rates [domains]float64

// only are the rates of what is steady in a domain.
func only(domain int, rate float64) (r rates) {
	r[domain] = rate
	return r
}

func (t *tone) amplitude() float64 { return math.Hypot(t.cos, t.sin) }

// takeOut takes the tones that are found in any of the series out of all, and tells the
// sum of their amplitudes.
func (f *toneFinder) takeOut(series *[methods]Series) (sumV float64) {
	var found [methods][]tone
	for method := range series {
		if method != SecondTurn { // what that has, one of the others has
			found[method] = f.takeFound(&series[method])
		}
	}
	var all []tone
	for method := range series {
		for _, one := range found[method] {
			all = join(all, one, &series[method])
		}
	}
	for method := range series {
		for i := range all {
			if t := &series[method]; t.samples() > 0 && among(found[method], &all[i], t) < 0 {
				all[i].better(f.takeAt(t, all[i].rate))
			}
		}
	}
	for i := range all {
		sumV += all[i].amplitude()
	}
	return sumV
}

// join adds a tone of a series to others, unless it is among them.
func join(all []tone, one tone, t *Series) []tone {
	if i := among(all, &one, t); i >= 0 {
		all[i].better(one)
		return all
	}
	return append(all, one)
}

// among is which of some tones one is, as far as a series can tell them apart; −1 none.
func among(some []tone, one *tone, t *Series) int {
	return slices.IndexFunc(some, func(o tone) bool {
		cycles := (o.rate[overTime]-one.rate[overTime])*t.length(overTime) + (o.rate[overAngle]-one.rate[overAngle])*t.length(overAngle)
		return math.Abs(cycles) < 1
	})
}

// better makes a tone what another series says of it, if its own leaves much to chance.
// Tapes come in the order in which they are to be trusted: beside teeth, a tone moves
// what it is measured by.
func (t *tone) better(other tone) {
	const much = 0.05
	if t.errorV > much*t.amplitude() && other.errorV < t.errorV {
		*t = other
	}
}

// takeFound finds tones in a series, the clearest first, and takes them out.
func (f *toneFinder) takeFound(t *Series) (found []tone) {
	if t.samples() < tonesLeast || t.length(overAngle) < leastTurns {
		return nil
	}
	var refused []line
	for len(found) < mostTones && len(refused) < mostRefused {
		best, ok := f.spectrum.line(t, overTime, refused)
		if other, too := f.spectrum.line(t, overAngle, refused); too && (!ok || other.height > best.height) {
			best, ok = other, true
		}
		if !ok {
			break
		}
		if tone, ok := f.takeLine(t, best); ok {
			found = append(found, tone)
		} else {
			refused = append(refused, best)
		}
	}
	return found
}

// takeLine takes out the tone of a line; not ok, and nothing taken, where it is
// nothing steady, or too little.
func (f *toneFinder) takeLine(t *Series, l line) (tone, bool) {
	found := t.fitLine(l)
	if found.amplitude() < leastTone*t.scale() {
		return found, false
	}
	t.take(&found, 1)
	if f.spectrum.powerAt(t, l) > lineKept*l.power {
		t.take(&found, -1)
		return found, false
	}
	f.takeTraces(t, found.rate)
	return found, true
}

// takeTraces takes out what a tone does beside itself: it moves the falls of the teeth,
// and so the wave that is compared, in the rhythm of both.
func (f *toneFinder) takeTraces(t *Series, r rates) {
	perTurn := r[overAngle]
	for k := -mostTraces; k <= mostTraces; k++ {
		if r[overAngle] = perTurn + float64(k)*f.pitches; r[overAngle] != perTurn {
			trace, _ := t.fit(r)
			t.take(&trace, 1)
		}
	}
}

// fitLine is the tone near a line that explains most.
func (t *Series) fitLine(l line) tone {
	rate := l.rate
	for _, reach := range []float64{0.4, 0.1} {
		d := reach * l.width
		_, below := t.fit(only(l.domain, rate-d))
		_, at := t.fit(only(l.domain, rate))
		_, above := t.fit(only(l.domain, rate+d))
		if bend := below - 2*at + above; bend < 0 {
			rate += d * max(-1, min(1, (below-above)/(2*bend)))
		}
	}
	best, _ := t.fit(only(l.domain, rate))
	return best
}

// takeAt takes out a tone of some rates, and its traces.
func (f *toneFinder) takeAt(t *Series, r rates) tone {
	best, _ := t.fit(r)
	t.take(&best, 1)
	f.takeTraces(t, r)
	return best
}

// fit is the tone of some rates by least squares, and the sum of squares that it
// explains. Samples that are no noise count as far as noise goes.
func (t *Series) fit(r rates) (tone, float64) {
	var cc, cs, ss, vc, vs float64
	scale := t.scale()
	limit := trimmedAt * scale
	t.each(r, func(left *float32, c, s float64) {
		v := max(-limit, min(limit, float64(*left)))
		cc, cs, ss = cc+c*c, cs+c*s, ss+s*s
		vc, vs = vc+v*c, vs+v*s
	})
	det := cc*ss - cs*cs
	if !(det > 1e-9*cc*ss) {
		return tone{rate: r}, 0
	}
	a, b := (vc*ss-vs*cs)/det, (vs*cc-vc*cs)/det
	return tone{r, a, b, scale * math.Sqrt(2/(cc+ss))}, a*vc + b*vs
}

// take takes a tone out, or with −1 puts it back.
func (t *Series) take(w *tone, sign float64) {
	a, b := sign*w.cos, sign*w.sin
	t.each(w.rate, func(left *float32, c, s float64) { *left -= float32(a*c + b*s) })
}

// each goes through a series's samples with what its method leaves there of the cosine and
// the sine of some rates.
func (t *Series) each(r rates, do func(left *float32, c, s float64)) {
	origin := rates{t.origin(overTime), t.origin(overAngle)}
	for i := range t.pieces[:t.placed] {
		p := &t.pieces[i]
		var turning [1 + mostOthers]rotor
		n := 0
		for k := range p.terms {
			if e := &p.terms[k]; e.weight != 0 {
				turning[n] = e.rotor(r, origin)
				n++
			}
		}
		for j := p.first; j < p.end; j++ {
			c, s := 0.0, 0.0
			for k := range turning[:n] {
				c, s = c+turning[k].c, s+turning[k].s
				turning[k].goOn()
			}
			do(&t.left[j], c, s)
		}
	}
}

// rotor is a cosine and a sine that go on by a step.
type rotor struct{ c, s, stepC, stepS float64 }

// rotor begins at a term's first sample.
func (e *term) rotor(r, origin rates) (o rotor) {
	cycles, step := 0.0, 0.0
	for domain, rate := range r {
		cycles += rate * (e.at[domain].from - origin[domain])
		step += rate * e.at[domain].step
	}
	s, c := math.Sincos(2 * math.Pi * cycles)
	o.c, o.s = e.weight*c, e.weight*s
	o.stepS, o.stepC = math.Sincos(2 * math.Pi * step)
	return o
}

func (o *rotor) goOn() {
	o.c, o.s = o.c*o.stepC-o.s*o.stepS, o.s*o.stepC+o.c*o.stepS
}
