package noise

// Schedule decides beside which teeth noise is measured. At each speed it
// measures beside all of them until there was enough, and then beside those of
// some turns only: two whole ones at a time, so that what comes with the
// engine's cycle is met, beginning in either half of it.
type Schedule struct {
	Turn    int   // teeth in one; 0 as long as the wheel is not known
	Samples int64 // samples of noise so far at this speed
	at      int   // teeth into the round
	// Turnwise tells that turns are compared, for which all teeth are placed
	// whether they are measured beside or not.
	Turnwise   bool
	Continuous bool // without a break, until there is enough to tell tones
}

const (
	enoughSamples = 3 << 12
	// fewestInRow is the number of teeth in a row that are worth beginning
	// with: those at either end of a row only help to place the others.
	fewestInRow = 64
	// rounds is how many times as long as it measures a round is, but for a turn more.
	rounds = 7
)

// Next tells whether to measure beside the next tooth.
func (l *Schedule) Next() bool {
	if l.Turn == 0 || l.Samples < enoughSamples || l.Continuous {
		l.at = 0
		return true
	}
	span := 2 * l.Turn
	if !l.Turnwise {
		span = max(span, fewestInRow)
	}
	l.at = (l.at + 1) % (rounds*span + l.Turn)
	return l.at < span
}
