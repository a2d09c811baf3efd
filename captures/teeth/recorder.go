package teeth

// recorder keeps on tape what is heard until that tells whether there are tones: at
// each speed until enough was heard, and where there were none, not again before the
// speed has changed much.
type recorder struct {
	tapes   [ways]tape
	isOff   bool
	triedAt float64 // speed of the last tapes if they held no tone; 0 otherwise
	turnLen int     // samples in the last turn
	finder  toneFinder
}

const (
	longTape    = 1 << 14 // samples that tell tones well,
	tapeTurns   = 8       // if they are of as many turns, which tell a tone from what comes again in each
	longestTape = 1 << 18
	triedWithin = 2 // times a speed at which no tone was
)

// begin is for another wheel.
func (r *recorder) begin(pitches int) {
	for way := range r.tapes {
		r.tapes[way].reset()
	}
	r.finder.pitches = float64(pitches)
}

// tape is the one to record a way on; nil for none. Where the speed changes from tooth
// to tooth, what is left of them drowns tones.
func (r *recorder) tape(way int) *tape {
	if r.isOff || way == unsteadyBeside {
		return nil
	}
	t := &r.tapes[way]
	if t.left == nil && r.turnLen > 0 {
		t.reserve(min(longestTape, max(longTape, tapeTurns*r.turnLen)) + r.turnLen)
	}
	return t
}

// place gives what was heard up to a turn's end to its bin, and takes the tones out
// when there is enough. heard is how much was heard at this speed.
func (r *recorder) place(b *bin, t *turnSum, heard int64) {
	r.turnLen = int(t.course.to - t.course.from)
	most, turns := 0, 0.0
	for way := range r.tapes {
		tape := &r.tapes[way]
		tape.place(b, t.course.to)
		most = max(most, tape.samples())
		turns = max(turns, tape.length(overAngle))
	}
	if most >= longTape && turns >= tapeTurns || most >= longestTape {
		r.takeOut(t.speed)
		most = 0
	}
	isTried := r.triedAt > 0 && within(t.speed, r.triedAt, triedWithin)
	r.isOff = most == 0 && (isTried || heard >= enoughHeard)
}

// discard forgets what has no bin yet.
func (r *recorder) discard() {
	for way := range r.tapes {
		r.tapes[way].discard()
	}
}

// takeOut takes the tones out of the tapes. If there are any, what is left without
// them is given to the bins, beside what was heard.
func (r *recorder) takeOut(speed float64) {
	toneV := r.finder.takeOut(&r.tapes)
	r.finder.spectrum = tapeSpectrum{} // it may be long until the next
	r.triedAt = speed
	if toneV > 0 {
		r.triedAt = 0
	}
	for way := range r.tapes {
		if toneV > 0 {
			r.tapes[way].play(way, toneV)
			r.tapes[way].reset()
		} else {
			r.tapes[way] = tape{}
		}
	}
}
