package replay

import (
	"slices"
	"strings"
	"testing"

	"armcurve/captures"
	"armcurve/threshold"
)

// Noise before the first speed is known makes it out to be several times the true one,
// for which the threshold is beyond all teeth: that none is counted any more is the
// noise's doing.
func TestDeafAfterTheFirstTurn(t *testing.T) {
	wheel, err := captures.ParseWheel("36-1")
	if err != nil {
		t.Fatal(err)
	}
	table := threshold.NewTable([]threshold.Row{
		{RPM: 0, ThresholdV: captures.Some(0.1)}, {RPM: 3000, ThresholdV: captures.Some(0.5)}, {RPM: 6000, ThresholdV: captures.Some(6)},
	}, threshold.Linear)
	r := gapWave{sigmaV: 0.1}.recorded(wheel, 60, 5).feed(t, Options{Tables: []threshold.Table{table}, Wheel: wheel}, 8192)
	res, err := r.Result(0, Facts{Signal: "reluctor", Wheel: wheel})
	if err != nil {
		t.Fatal(err)
	}
	if res.Unjudged < 5 || res.Missed < 50*35 || res.False > res.Unjudged {
		t.Fatalf("%+v, %d unjudged", res.Counts, res.Unjudged)
	}
	if len(res.Causes) != 1 || res.Causes[0].Kind != NoiseAbove || !strings.Contains(res.Causes[0].Evidence, "before the first speed is known") || res.Causes[0].Advice == "" {
		t.Errorf("%+v", res.Causes)
	}
}

// TestDeafByAnotherSensor: what follows from false events before the first speed has their
// cause.
func TestDeafByAnotherSensor(t *testing.T) {
	q, at := beside36(t, 5, 185, 365)
	for turn := 0; turn < 8; turn += 2 {
		q.early = append(q.early, fault{at: at(turn, 190), rpm: 6000, heightV: 1, thresholdV: 0.5, tooth: 19, flags: isFalse})
	}
	for tooth := range 300 {
		q.faults = append(q.faults, fault{at: at(10, 10*float64(tooth)), rpm: 6000, heightV: 2, thresholdV: 5, tooth: uint16(tooth%35 + 1), flags: follows})
	}
	q.taken, q.leader = make([]bool, len(q.faults)), leaders(q.faults, q.early)
	q.settleOne(cause{CrossTalk, studyCrossTalk})
	if len(q.causes) != 1 || q.causes[0].Kind != CrossTalk || q.causes[0].Share != 1 {
		t.Errorf("%+v, %+v", q.causes, q.excluded)
	}
}

// TestMissMovesNoThreshold: what an input that the early events made deaf goes on to miss
// does not come of a low tooth missed meanwhile, for which the threshold stayed.
func TestMissMovesNoThreshold(t *testing.T) {
	early := []fault{{at: 1, heightV: 1, thresholdV: 0.5, flags: isFalse}}
	list := []fault{
		{at: 10, heightV: 2, thresholdV: 5, flags: follows},
		{at: 20, heightV: 1, thresholdV: 5}, // low
		{at: 30, heightV: 2, thresholdV: 5, flags: follows},
		{at: 40, heightV: 3, thresholdV: 4, flags: follows}, // an event had come between
	}
	want := []*fault{&early[0], &list[1], &early[0], &early[0]}
	if got := leaders(list, early); !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
