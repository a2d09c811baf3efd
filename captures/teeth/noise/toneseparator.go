package noise

// ToneSeparator keeps residuals in their order until that tells whether there are tones: at
// each speed until there were enough, and where there were none, not again before the
// speed has changed much.
type ToneSeparator struct {
	series  [methods]Series
	isOff   bool
	triedAt float64 // speed of the last series if they held no tone; 0 otherwise
	turnLen int     // samples in the last turn
	finder  toneFinder
}

const (
	longSeries    = 1 << 14 // samples that tell tones well,
	enoughTurns   = 8       // if they are of as many turns, which tell a tone from what comes again in each
	longestSeries = 1 << 18
	triedWithin   = 2 // times a speed at which no tone was
)

// Begin is for another wheel.
func (r *ToneSeparator) Begin(pitches int) {
	for method := range r.series {
		r.series[method].reset()
	}
	r.finder.pitches = float64(pitches)
}

// Series is the one to record a method on; nil for none. Where the speed changes from tooth
// to tooth, what is left of them drowns tones.
func (r *ToneSeparator) Series(method int) *Series {
	if r.isOff || method == UnsteadyBeside {
		return nil
	}
	t := &r.series[method]
	if t.left == nil && r.turnLen > 0 {
		t.reserve(min(longestSeries, max(longSeries, enoughTurns*r.turnLen)) + r.turnLen)
	}
	return t
}

// EndTurn gives the residuals of a turn, by its positions, to the noise at its speed, those
// of before to that at the speed of the turn before, and takes the tones out when there is
// enough. samples is how many there were at this speed.
func (r *ToneSeparator) EndTurn(at, before *AtSpeed, from, to float64, samples int64) {
	r.turnLen = int(to - from)
	speed := 1 / (to - from) // turns per sample
	most, turns := 0, 0.0
	for method := range r.series {
		series := &r.series[method]
		series.place(before, from)
		series.place(at, to)
		most = max(most, series.samples())
		turns = max(turns, series.length(overAngle))
	}
	if most >= longSeries && turns >= enoughTurns || most >= longestSeries {
		r.takeOut(speed)
		most = 0
	}
	isTried := r.triedAt > 0 && speed < triedWithin*r.triedAt && r.triedAt < triedWithin*speed
	r.isOff = most == 0 && (isTried || samples >= enoughSamples)
}

// Discard forgets what was not placed yet.
func (r *ToneSeparator) Discard() {
	for method := range r.series {
		r.series[method].discard()
	}
}

// Finish takes out the tones of the last series.
func (r *ToneSeparator) Finish() { r.takeOut(0) }

// IsOff tells that nothing is recorded.
func (r *ToneSeparator) IsOff() bool { return r.isOff }

// takeOut takes the tones out of the series. If there are any, what is left without
// them is given to the noise at its speeds, beside the others.
func (r *ToneSeparator) takeOut(speed float64) {
	toneV := r.finder.takeOut(&r.series)
	r.finder.spectrum = seriesSpectrum{} // it may be long until the next
	r.triedAt = speed
	if toneV > 0 {
		r.triedAt = 0
	}
	for method := range r.series {
		if toneV > 0 {
			r.series[method].play(method, toneV)
			r.series[method].reset()
		} else {
			r.series[method] = Series{}
		}
	}
}
