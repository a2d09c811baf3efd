package replay

import (
	"strings"
	"testing"
)

// TestEarlyEventsAreAllTold: of many false events before the first speed only the first are
// kept, but all are counted.
func TestEarlyEventsAreAllTold(t *testing.T) {
	tallied := tally{}
	for i := range 3 * mostEarly {
		tallied.addEarly(&fault{at: float64(i), flags: isFalse})
	}
	if len(tallied.early) != mostEarly || tallied.unjudged != 3*mostEarly {
		t.Fatalf("%d kept of %d", len(tallied.early), tallied.unjudged)
	}
	missed := make([]fault, 4)
	for i := range missed {
		missed[i] = fault{at: float64(1000 + i), heightV: 1, thresholdV: 2, rpm: 1000, flags: follows}
	}
	q := &inquiry{Replay: &Replay{}, early: tallied.early, unjudged: tallied.unjudged}
	text := studyNoise(q).evidence(hits{&missed[0], &missed[1]})
	if !strings.Contains(text, "192 false events") {
		t.Errorf("%q", text)
	}
}
