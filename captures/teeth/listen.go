package teeth

// listener decides beside which teeth noise is listened for. At each speed it
// listens beside all of them until enough was heard, and then beside those of
// some turns only: two whole ones at a time, so that what comes with the
// engine's cycle is heard, beginning in either half of it.
type listener struct {
	turn  int   // teeth in one; 0 as long as the wheel is not known
	heard int64 // samples of noise so far at this speed
	at    int   // teeth into the round
	// turnwise tells that turns are compared, for which all teeth are placed
	// whether they are listened beside or not.
	turnwise bool
	taping   bool // without a break, until there is enough to tell tones
}

const (
	enoughHeard = 3 << 12
	// fewestHeard is the number of teeth in a row that are worth beginning
	// with: those at either end of a row only help to place the others.
	fewestHeard = 64
	// rounds is how many times as long as it listens a round is, but for a turn more.
	rounds = 7
)

// next tells whether to listen beside the next tooth.
func (l *listener) next() bool {
	if l.turn == 0 || l.heard < enoughHeard || l.taping {
		l.at = 0
		return true
	}
	span := 2 * l.turn
	if !l.turnwise {
		span = max(span, fewestHeard)
	}
	l.at = (l.at + 1) % (rounds*span + l.turn)
	return l.at < span
}
