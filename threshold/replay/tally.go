package replay

import "armcurve/captures"

// tally is what one input made of the wave.
type tally struct {
	Counts
	bands    [speedBands]Counts
	unjudged int64 // false events before the first speed was known, the engine running
	faults   faults
	first    firstFault // of those held against the table
	unknown  firstFault // of the unjudged
	early    []fault    // the first of these
	events   []Event
	lagDeg   [speedBands]mean // of an input that counts on the rise
}

// mostEarly is how many false events before the first speed are kept: as many as make that
// speed, with few teeth in a turn.
const mostEarly = 64

// addEarly takes a false event before the first speed.
func (t *tally) addEarly(f *fault) {
	t.unjudged++
	t.unknown.meet(f)
	if len(t.early) < mostEarly {
		t.early = append(t.early, *f)
	}
}

type mean struct{ sum, n float64 }

func (m *mean) add(x float64) { m.sum, m.n = m.sum+x, m.n+1 }

func (m mean) value() captures.Maybe { return captures.Finite(m.sum / m.n) }

// Event is a miss or a false event.
type Event struct {
	TimeS  float64 // the file's own time
	False  bool    // an event without a tooth; else a tooth without an event
	Unseen bool    // the wave does not have the tooth
	// Tooth is the number of the tooth missed, or of the one before a false
	// event; 0 where the wheel is not known.
	Tooth      int
	RPM        float64
	CrankDeg   captures.Maybe // from the first tooth after the longest gap
	SignalV    float64        // reached, from the rest level
	ThresholdV captures.Maybe // in force; unknown where the table has none
	part       float32        // of the way from its tooth to the next
}
