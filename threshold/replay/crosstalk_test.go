package replay

import (
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// crossed is a rig whose cam sensor couples into that of the crank, and a high
// table for this.
func crossed(t *testing.T, crossS float64) (simulate.Scenario, simulate.Rig, simulate.Table) {
	t.Helper()
	s, err := simulate.FindScenario("cross-talk")
	if err != nil {
		t.Fatal(err)
	}
	rig := s.Captures[0]
	s.Name, rig.Name = "hidden", "hidden teeth"
	for i := range rig.Sensors {
		sensor := &rig.Sensors[i]
		sensor.CrossS = 0
		if sensor.Name == captures.Crank {
			sensor.CrossS = crossS
		}
	}
	table := simulate.Table{Sensor: captures.Crank, Rows: []simulate.Row{
		{RPM: 0, ThresholdV: 0.2}, {RPM: 1000, ThresholdV: 2.2}, {RPM: 3000, ThresholdV: 6.6}, {RPM: 7000, ThresholdV: 13},
	}}
	s.Tables = []simulate.Table{table, {Sensor: captures.Cam, Rows: s.Tables[1].Rows}}
	return s, rig, table
}

// The cam's teeth pull single teeth of the crank wheel under a high table, in
// every second turn; nothing else is to blame.
func TestCrossTalkHidesTeeth(t *testing.T) {
	s, rig, table := crossed(t, 7e-5)
	res, _ := examined(t, s, rig, table)
	checkCause(t, s.Name, res, CrossTalk)
	checkCounts(t, s.Name, res, s, rig, table)
	if res.Missed == 0 {
		t.Error("no tooth is missed")
	}
}

// Where the cam was not recorded, teeth that are low in every second turn tell of
// it.
func TestEverySecondTurn(t *testing.T) {
	s, rig, table := crossed(t, 7e-5)
	r, m := play(t, s, rig, table, nil)
	res, err := r.Result(0, factsOf(m))
	if err != nil {
		t.Fatal(err)
	}
	checkCause(t, s.Name, res, CrossTalk)
}

// Where the cam was not recorded, teeth that vanish in a wave as strong as ever
// are no dropout.
func TestHiddenTeethAreNoDropout(t *testing.T) {
	s, rig, table := crossed(t, 1.2e-4)
	r, m := play(t, s, rig, table, nil)
	res, err := r.Result(0, factsOf(m))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range res.Causes {
		if c.Kind == Dropout {
			t.Errorf("%+v", c)
		}
	}
	checkCause(t, s.Name, res, CrossTalk)
}

// A wave that shows another sensor's teeth says nothing of its own polarity or wheel.
func TestCopiedComesFirst(t *testing.T) {
	if c, is := exclusive(Facts{Signal: "unknown", Reversed: true, WheelDiffers: true, NoWheel: true, Copied: "it follows the crank's"}); !is || c.Kind != CrossTalk || c.Evidence == "" {
		t.Errorf("%+v", c)
	}
}

// TestWideBesideATooth: what the other sensor's rate of change couples in ends farther
// behind its tooth the wider it is.
func TestWideBesideATooth(t *testing.T) {
	const rpm, stepS, endDeg, fromTooth = 6000, 1e-5, 15, 1000.0
	wheel, err := captures.ParseWheel("36-1")
	if err != nil {
		t.Fatal(err)
	}
	q := &inquiry{Replay: &Replay{info: captures.WaveInfo{StepS: stepS}, wheel: wheel}}
	sampleDeg := 6.0 * rpm * stepS
	var events hits
	for k := range 20 {
		at := fromTooth + float64(k)*720/sampleDeg
		q.facts.Other = append(q.facts.Other, at)
		events = append(events, &fault{at: at + endDeg/sampleDeg, rpm: rpm, width: 0.9, flags: isFalse})
	}
	if b := q.withOther(events, besideTooth); !b.is || b.share() != 1 {
		t.Errorf("%+v: want all beside a tooth", b)
	}
}

// beside36 is an inquiry into a 36-1 wheel at a steady speed, with a cam whose teeth are
// at some angles of the crank.
func beside36(t *testing.T, camDeg ...float64) (q *inquiry, at func(turn int, deg float64) float64) {
	t.Helper()
	const rpm, stepS = 6000, 1e-5
	wheel, err := captures.ParseWheel("36-1")
	if err != nil {
		t.Fatal(err)
	}
	q = &inquiry{Replay: &Replay{info: captures.WaveInfo{StepS: stepS}, wheel: wheel, rim: rimOf(nil, nil)}}
	at = func(turn int, deg float64) float64 { return (float64(turn)*360 + deg) / (6 * rpm * stepS) }
	for turn := 0; turn < 200; turn += 2 {
		for _, deg := range camDeg {
			q.facts.Other = append(q.facts.Other, at(turn, deg))
		}
	}
	return q, at
}

// missedAt adds a tooth that is missed.
func (q *inquiry) missedAt(at float64, tooth int) {
	q.faults = append(q.faults, fault{at: at, rpm: 6000, heightV: 1, thresholdV: 2, tooth: uint16(tooth)})
}

// TestOneToothOfTheCam: of a cam's teeth one may pull a tooth of the crank down and the
// others none, or they stand a turn apart from each other; a short tooth beside them is
// missed in every turn.
func TestOneToothOfTheCam(t *testing.T) {
	isCrossTalk := func(q *inquiry) bool {
		o := studyCrossTalk(q)
		if o.explains == nil {
			return false
		}
		list, _ := q.explained(o)
		return len(list) >= len(q.faults)-1
	}
	lead := func(q *inquiry) *inquiry {
		q.taken, q.leader = make([]bool, len(q.faults)), leaders(q.faults, nil)
		return q
	}
	one, at := beside36(t, 5, 185, 365, 410)
	for turn := 20; turn < 180; turn += 2 {
		one.missedAt(at(turn, 186), 19)
	}
	one.missedAt(at(3, 186), 19) // long before the others
	if !isCrossTalk(lead(one)) {
		t.Errorf("one tooth: %+v", studyCrossTalk(one))
	}
	apart, at := beside36(t, 5, 185, 365)
	for turn := 20; turn < 180; turn++ {
		apart.missedAt(at(turn, 6), 1)
		if turn%2 == 0 {
			apart.missedAt(at(turn, 186), 19)
		}
	}
	if !isCrossTalk(lead(apart)) {
		t.Errorf("teeth a turn apart: %+v", studyCrossTalk(apart))
	}
	short, at := beside36(t, 5, 185, 365)
	for turn := 20; turn < 180; turn++ {
		short.missedAt(at(turn, 6), 1)
	}
	if isCrossTalk(lead(short)) {
		t.Error("a short tooth is taken for cross-talk")
	}
}

// lostAt adds a tooth that is hidden in some turns.
func (q *inquiry) lostAt(at func(turn int, deg float64) float64, turns ...int) {
	for _, turn := range turns {
		q.faults = append(q.faults, fault{at: at(turn, 100), rpm: 6000, tooth: 11, flags: collapsed | hidden})
	}
	q.taken, q.leader = make([]bool, len(q.faults)), leaders(q.faults, nil)
}

// TestHiddenTeeth: teeth that vanish in every second turn go with the camshaft, in
// others with the crank.
func TestHiddenTeeth(t *testing.T) {
	for _, c := range []struct {
		kind  string
		turns []int
	}{
		{CrossTalk, []int{0, 2, 4, 8, 10, 12, 14}},
		{CrankLockedNoise, []int{0, 1, 3, 4, 6, 9, 10}},
	} {
		q, at := beside36(t)
		q.lostAt(at, c.turns...)
		q.settleOne(cause{CrossTalk, studyCrossTalk})
		q.compete([]cause{{CrankLockedNoise, studyCrankLocked}})
		if len(q.causes) != 1 || q.causes[0].Kind != c.kind || q.causes[0].Evidence == "" {
			t.Errorf("%v: %+v, want %s", c.turns, q.causes, c.kind)
		}
	}
}

// TestTwoOfTheCamClose: two of a cam's few teeth may be close together: a false event beside
// one of them is beside a tooth all the same. Of a wheel with many some is always near.
func TestTwoOfTheCamClose(t *testing.T) {
	for _, c := range []struct {
		camDeg []float64
		is     bool
	}{
		{[]float64{67, 97, 277, 307}, true},
		{[]float64{7, 37, 67, 97, 127, 157, 187, 217, 247, 277, 307, 337, 367, 397, 427, 457, 487, 517, 547, 577, 607, 637, 667, 697}, false},
	} {
		q, at := beside36(t, c.camDeg...)
		var events hits
		for turn := 20; turn < 180; turn += 2 {
			events = append(events, &fault{at: at(turn, 99), rpm: 6000, width: 0.4, flags: isFalse})
		}
		if b := q.withOther(events, besideTooth); b.is != c.is || b.close() == c.is {
			t.Errorf("%d teeth: %+v", len(c.camDeg), b)
		}
	}
}

// TestBesideASwing: what a wide tooth's rate of change couples in may come 25° beside it, with
// each passage and not in the turn between; what comes in every turn does not go with it, nor
// what is beside teeth of every turn.
func TestBesideASwing(t *testing.T) {
	for _, c := range []struct {
		name   string
		camDeg []float64
		every  int
		is     bool
	}{
		{"each passage", []float64{100}, 2, true},
		{"every turn", []float64{100}, 1, false},
		{"a tooth in every turn", []float64{100, 460}, 1, false},
	} {
		q, at := beside36(t, c.camDeg...)
		var events hits
		for turn := 20; turn < 180; turn += c.every {
			events = append(events, &fault{at: at(turn, 125), rpm: 6000, flags: isFalse})
		}
		if b := q.withTeeth(events); b.is != c.is {
			t.Errorf("%s: %+v", c.name, b)
		}
	}
}

// TestPulsesBetweenTeeth: pulses between teeth in every second turn, as wide in angle at any
// speed, go with the camshaft; those in every turn do not, nor do sparks, which last as long.
func TestPulsesBetweenTeeth(t *testing.T) {
	angle := func(rpm float64) float64 { return 0.2 }
	for _, c := range []struct {
		name  string
		every int
		width func(rpm float64) float64 // pitches
		is    bool
	}{
		{"of a cam", 2, angle, true},
		{"in every turn", 1, angle, false},
		{"of sparks", 2, func(rpm float64) float64 { return 0.2 * rpm / 3000 }, false},
	} {
		q, _ := beside36(t)
		seconds := 0.0
		for turn := range 200 {
			rpm := 2000 + 25*float64(turn)
			if turn%c.every == 0 {
				q.faults = append(q.faults, fault{
					at: seconds / q.info.StepS, rpm: float32(rpm), heightV: 1, thresholdV: 0.5, partV: 1, width: float32(c.width(rpm)), part: 0.5, tooth: 7, flags: isFalse,
				})
			}
			seconds += 60 / rpm
		}
		q.taken, q.leader = make([]bool, len(q.faults)), leaders(q.faults, nil)
		list, _ := q.explained(studyCrossTalk(q))
		if is := len(list) == len(q.faults); is != c.is {
			t.Errorf("%s: %d of %d explained", c.name, len(list), len(q.faults))
		}
	}
}
