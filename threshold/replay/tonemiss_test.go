package replay

import "testing"

// TestToneAgainstATooth: a tooth that a tone lowers is missed for the tone; one that is low
// in every turn is not.
func TestToneAgainstATooth(t *testing.T) {
	q := &inquiry{Replay: &Replay{}}
	for k := range 10 {
		at := float64(1000 * k)
		q.tones.lines = append(q.tones.lines, line{at: at, hz: 300 + 20*float64(k), order: 7.3, byAngle: 0.8, amplitudeV: 0.5})
		q.faults = append(q.faults, fault{at: at, heightV: 0.9, thresholdV: 0.8, flags: isFalse})
	}
	q.strong = q.strongLines()
	o := studySpeedTone(q)
	if o.explains == nil {
		t.Fatalf("no tone: %s", o.excluded)
	}
	for _, c := range []struct {
		name string
		miss fault
		want bool
	}{
		{"lowered", fault{at: 500, heightV: 0.7, partV: 1, thresholdV: 0.8}, true},
		{"low in every turn", fault{at: 500, heightV: 0.7, partV: 0.75, thresholdV: 0.8}, false},
		{"lowered by more", fault{at: 500, heightV: 0.1, partV: 1.2, thresholdV: 0.8}, false},
		{"lost", fault{at: 500, heightV: 0.7, partV: 1, thresholdV: 0.8, flags: collapsed}, false},
		{"lowered and hidden", fault{at: 500, heightV: 0.7, partV: 1, thresholdV: 0.8, flags: collapsed | hidden}, true},
		{"not known", fault{at: 500, heightV: 0.7, thresholdV: 0.8}, false},
	} {
		if got := o.explains(&c.miss); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
