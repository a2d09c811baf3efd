package replay

import (
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
	"armcurve/captures/teeth"
	"armcurve/threshold"
)

// gapWave is what stands in the first gap of a wheel that turns steadily.
type gapWave struct {
	humpV, sigmaV float64 // a hump amid it, and white noise everywhere
	humpEvery     int     // it stands there in every such turn; 0: in every one
	sparkV        float64 // a spark of about this height
	everyTurn     int     // it comes in every such turn
	sparkTimes    float64 // as long as a short one; 0: once
	atPitch       float64 // behind the last tooth
	slowNoise     bool    // noise that hardly changes within a tenth of a pitch
}

// recorded makes the wave by hand: teeth 2 V high, the threshold at 0.5 V.
func (g gapWave) recorded(w captures.Wheel, turns int, seed uint64) *recording {
	const perPitch, rpm = 100, 3000
	random := rand.New(rand.NewPCG(seed, 1))
	n := w.Pitches * perPitch
	rec := &recording{info: captures.WaveInfo{StepS: 60.0 / rpm / float64(n)}, v: make([]float64, turns*n)}
	slow := 0.0
	for i := range rec.v {
		e := g.sigmaV * random.NormFloat64()
		if g.slowNoise {
			slow += 0.1 * (e*math.Sqrt(19) - slow)
			e = slow
		}
		rec.v[i] = e
	}
	bump := func(at, highV, width float64) { // up, then down through rest at a position
		for i := max(0, int(at-4*width)); i < min(len(rec.v), int(at+4*width)); i++ {
			u := (float64(i) - at) / width
			rec.v[i] -= highV * u * math.Exp((1-u*u)/2)
		}
	}
	last := w.Positions[len(w.Positions)-1]
	for turn := range turns {
		from := float64(turn * n)
		for k, p := range w.Positions {
			at := from + float64(p*perPitch) + perPitch/2
			bump(at, 2, 0.16*perPitch)
			rec.passed = append(rec.passed, teeth.Passage{Tooth: captures.Tooth{Number: k + 1, PeakV: 2, RPM: rpm}, Seen: true, At: at})
		}
		tooth := from + float64(last*perPitch) + perPitch/2
		if turn%max(1, g.humpEvery) == 0 {
			bump(tooth+float64(w.Pitches-last)/2*perPitch, g.humpV, 0.12*perPitch)
		}
		if g.everyTurn > 0 && turn%g.everyTurn == 0 {
			at := tooth + (g.atPitch+0.3*float64(w.Pitches)/360*random.NormFloat64())*perPitch
			highV := g.sparkV * (1 + 0.15*random.NormFloat64())
			long := 4 * max(1, g.sparkTimes)
			for i := int(at); i < min(len(rec.v), int(at+8*long)); i++ {
				rec.v[i] += highV * math.Exp(-float64(i-int(at))/long)
			}
		}
	}
	return rec
}

// Noise that passes the threshold only amid a gap, where the wheel's own hump
// leaves it least to rise, has no place; sparks do, in every turn or every second,
// beside such a hump or upon it; and where the hump alone all but passes it, it is the
// hump, or what goes with the camshaft if it comes in every second turn.
func TestSurges(t *testing.T) {
	for _, pattern := range []string{"12-1", "24-1", "36-1", "60-2", "36-2-2-2"} {
		wheel, err := captures.ParseWheel(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			name, want string
			wave       gapWave
		}{
			{"noise on a hump", NoiseAbove, gapWave{humpV: 0.2, sigmaV: 0.1}},
			{"noise on a high hump", GapHump, gapWave{humpV: 0.42, sigmaV: 0.04}},
			{"slow noise on a hump", NoiseAbove, gapWave{humpV: 0.2, sigmaV: 0.11, slowNoise: true}},
			{"sparks", CrankLockedNoise, gapWave{sigmaV: 0.02, sparkV: 0.7, everyTurn: 1, atPitch: 0.5}},
			{"long sparks", CrankLockedNoise, gapWave{sigmaV: 0.01, sparkV: 0.9, everyTurn: 1, atPitch: 0.7, sparkTimes: 4}},
			{"sparks in every second turn", CrankLockedNoise, gapWave{sigmaV: 0.02, sparkV: 0.7, everyTurn: 2, atPitch: 0.7}},
			{"a few sparks in noise", CrankLockedNoise, gapWave{sigmaV: 0.08, sparkV: 0.42, everyTurn: 4, atPitch: 0.6}},
			{"sparks on a hump", CrankLockedNoise, gapWave{humpV: 0.3, sigmaV: 0.02, sparkV: 0.5, everyTurn: 3, atPitch: 0.85}},
			{"sparks of three cylinders on a hump", CrankLockedNoise, gapWave{humpV: 0.45, sigmaV: 0.01, sparkV: 0.3, everyTurn: 2, atPitch: 0.8}},
			{"a hump", GapHump, gapWave{humpV: 0.7, sigmaV: 0.02}},
			{"a pulse of the cam's", CrossTalk, gapWave{humpV: 0.9, humpEvery: 2, sigmaV: 0.02}},
		} {
			rec := c.wave.recorded(wheel, 150, uint64(wheel.Pitches))
			r := rec.feed(t, Options{
				Tables: []threshold.Table{threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.5)}}, threshold.Linear)}, Wheel: wheel,
			}, 8192)
			res, err := r.Result(0, Facts{Signal: "reluctor", Wheel: wheel})
			if err != nil {
				t.Fatal(err)
			}
			if res.False >= leastFaults && res.Causes[0].Kind != c.want {
				t.Errorf("%s, %s: %d false, %+v, want %s", pattern, c.name, res.False, res.Causes, c.want)
			}
		}
	}
}

// Of a wheel stated with gaps whose places it does not tell, angles are those of the
// wheel that turned: noise in its gaps has no place.
func TestStatedGaps(t *testing.T) {
	stated, err := captures.ParseWheel("36-2-2-2")
	if err != nil {
		t.Fatal(err)
	}
	turned := stated
	turned.Positions = nil
	for i := range 36 {
		if i != 13 && i != 14 && i != 28 && i != 29 && i < 34 {
			turned.Positions = append(turned.Positions, i)
		}
	}
	rec := gapWave{sigmaV: 0.15}.recorded(turned, 400, 3)
	r := rec.feed(t, Options{
		Tables: []threshold.Table{threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.55)}}, threshold.Linear)}, Wheel: stated, KeepEvents: true,
	}, 8192)
	res, err := r.Result(0, Facts{Signal: "reluctor", Wheel: turned})
	if err != nil {
		t.Fatal(err)
	}
	if res.False < 20 || len(res.Causes) == 0 || res.Causes[0].Kind != NoiseAbove || res.Causes[0].Share < 0.9 {
		t.Errorf("%d false, %+v", res.False, res.Causes)
	}
	for _, e := range res.Events {
		if deg := e.CrankDeg.Value; e.Tooth == 13 && (deg < 120 || deg > 150) {
			t.Errorf("in the gap behind tooth 13, from 120° to 150°: %.0f°", deg)
		}
	}
}
