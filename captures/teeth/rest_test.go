package teeth

import (
	"math"
	"math/rand/v2"
	"testing"
)

// restsSeen keeps the teeth given out.
type restsSeen struct{ list []Passage }

func (s *restsSeen) Wave(int64, []float64) {}
func (s *restsSeen) Tooth(p Passage)       { s.list = append(s.list, p) }

// restOff is how far the rest level of any tooth seen is from what it is, and how far
// it is in the mean over the second half of them.
func restOff(t testing.TB, v []float64, hz, restV float64, wheelText string) (worst, mean float64) {
	t.Helper()
	o, seen := statedIf(t, wheelText), new(restsSeen)
	o.Watch = seen
	if _, err := Measure(wave(v, 1/hz, 8192), o); err != nil {
		t.Fatal(err)
	}
	half := seen.list[len(seen.list)/2:]
	for _, p := range seen.list {
		if p.Seen {
			worst = max(worst, math.Abs(p.RestV-restV))
		}
	}
	for _, p := range half {
		mean += (p.RestV - restV) / float64(len(half))
	}
	return worst, mean
}

// TestEccentricRest: the rest level does not follow a wheel that runs out, from the
// first tooth on.
func TestEccentricRest(t *testing.T) {
	const most = 0.01 // of a mean tooth's peak
	for _, text := range usualWheels {
		for name, lobe := range lobeShapes {
			for _, phase := range []float64{0, 0.25, 0.5, 0.75} {
				e := eccentric{wheel: text, lobe: lobe, runOut: 0.5, phase: phase, rpm: [2]float64{1000, 1000}, seconds: 0.4, hz: 100e3}
				v, _ := e.samples(t)
				if worst, _ := restOff(t, v, e.hz, 0, text); worst > most {
					t.Errorf("%s, %s, at %.2f: the rest level is off by up to %.1f %%", text, name, phase, 100*worst)
				}
			}
		}
	}
}

// TestSparksRest: sparks all to one side, at like angles in each turn, leave the rest
// level where it is.
func TestSparksRest(t *testing.T) {
	const restV, high, lastS = 0.25, 1, 40e-6
	for _, text := range usualWheels {
		for name, lobe := range lobeShapes {
			e := eccentric{wheel: text, lobe: lobe, rpm: [2]float64{4000, 4000}, seconds: 0.6, hz: 400e3, noise: 0.01}
			v, _ := e.samples(t)
			for i := range v {
				v[i] += restV
			}
			each := 60 / e.rpm[0] / 3 // seconds
			for at := 0.0047; at < e.seconds; at += each {
				first := int(math.Ceil(at * e.hz))
				for i := first; i < min(len(v), first+200); i++ {
					v[i] += high * 4 * math.Exp(-(float64(i)/e.hz-at)/lastS)
				}
			}
			if _, mean := restOff(t, v, e.hz, restV, text); math.Abs(mean) > 0.003*4 {
				t.Errorf("%s, %s: the rest level is off by %.2f %% of the peak", text, name, 100*mean/4)
			}
		}
	}
}

// TestBluntSparksRest: so do pulses that are no sharper than the teeth, one in each turn.
func TestBluntSparksRest(t *testing.T) {
	const restV, high, rpm = 0.25, 0.8, 4000.0
	for _, text := range usualWheels {
		for name, lobe := range lobeShapes {
			e := eccentric{wheel: text, lobe: lobe, rpm: [2]float64{rpm, rpm}, seconds: 0.6, hz: 400e3, noise: 0.01}
			v, _ := e.samples(t)
			for i := range v {
				v[i] += restV
			}
			lastS := 0.4 * 60 / rpm / float64(wheel(t, text).Pitches)
			for at := 0.0047; at < e.seconds; at += 60 / rpm {
				first := int(math.Ceil(at * e.hz))
				for i := first; i < min(len(v), int((at+lastS)*e.hz)); i++ {
					v[i] -= high * 4 * math.Sin(math.Pi*(float64(i)/e.hz-at)/lastS)
				}
			}
			if _, mean := restOff(t, v, e.hz, restV, text); math.Abs(mean) > 0.003*4 {
				t.Errorf("%s, %s: the rest level is off by %.2f %% of the peak", text, name, 100*mean/4)
			}
		}
	}
}

// TestDriftRest: a rest level that drifts by a part of the peak is followed.
func TestDriftRest(t *testing.T) {
	const drift, untilS = 0.5, 0.6 // of the peak in a second
	for _, text := range usualWheels {
		e := eccentric{wheel: text, lobe: lobeShapes["gauss"], rpm: [2]float64{1000, 1000}, seconds: 1, hz: 100e3, noise: 0.005}
		v, _ := e.samples(t)
		for i := range v {
			v[i] += drift * min(float64(i)/e.hz, untilS)
		}
		if _, mean := restOff(t, v, e.hz, drift*untilS, text); math.Abs(mean) > 0.03 {
			t.Errorf("%s: the rest level is off by %.2f %% of the peak", text, 100*mean)
		}
	}
}

// TestToneRest: a tone slower than the teeth, which moves many means in a row by as much,
// has none itself.
func TestToneRest(t *testing.T) {
	for _, text := range []string{"36-1", "60-2"} {
		for _, perTurn := range []float64{3.3, 13.1, 16.4, 27.4, 61.3} {
			e := eccentric{wheel: text, lobe: lobeShapes["gauss"], rpm: [2]float64{1400, 1400}, seconds: 3, hz: 100e3, noise: 0.01}
			v, _ := e.samples(t)
			for i := range v {
				v[i] += 0.5 * math.Sin(2*math.Pi*perTurn*1400/60*float64(i)/e.hz)
			}
			if _, mean := restOff(t, v, e.hz, 0, text); math.Abs(mean) > 0.003*1.4 {
				t.Errorf("%s, %g a turn: the rest level is off by %.2f %% of the peak", text, perTurn, 100*mean/1.4)
			}
		}
	}
}

// TestHolesRest: where the wave is lost, the teeth that are cut off with it do not move
// the rest level; but for lobes that stand apart, which may be cut off without an edge.
func TestHolesRest(t *testing.T) {
	const restV, most = 0.25, 0.005
	for _, text := range usualWheels {
		for name, lobe := range lobeShapes {
			if name == "flat top" {
				continue
			}
			e := eccentric{wheel: text, lobe: lobe, rpm: [2]float64{1500, 1500}, seconds: 1.2, hz: 100e3, noise: 0.005}
			v, _ := e.samples(t)
			for i := range v {
				v[i] += restV
			}
			for k, at := range []float64{0.4013, 0.5027, 0.6544, 0.8512, 1.0021} {
				for i := int(at * e.hz); i < int((at+0.004*float64(k+1))*e.hz); i++ {
					v[i] = restV
				}
			}
			if worst, _ := restOff(t, v, e.hz, restV, text); worst > most*1.5 {
				t.Errorf("%s, %s: the rest level is off by up to %.2f %%", text, name, 100*worst/1.5)
			}
		}
	}
}

// TestClampRest: a clamp that holds the wave lower on one side than on the other leaves it
// a mean, but the rest level where it is, from the first tooth on, whatever noise there is
// behind it or if it lets a little through.
func TestClampRest(t *testing.T) {
	const restV, highV, lowV, through = 0.25, 3.0, -0.9, 0.01
	for _, text := range usualWheels {
		for name, lobe := range lobeShapes {
			for _, noise := range []float64{0, 0.04} {
				e := eccentric{wheel: text, lobe: lobe, rpm: [2]float64{1500, 5500}, seconds: 1.2, hz: 100e3}
				v, _ := e.samples(t)
				random := rand.New(rand.NewPCG(5, 6))
				for i, x := range v {
					held := max(lowV, min(x, highV))
					v[i] = restV + held + through*(x-held) + noise*random.NormFloat64()
				}
				if worst, _ := restOff(t, v, e.hz, restV, text); worst > 0.05 {
					t.Errorf("%s, %s, noise %g V: the rest level is off by up to %.3f V", text, name, noise, worst)
				}
			}
		}
	}
}

// TestRangeRest: where the wave is cut off on both sides alike, with noise behind that, the
// rest level holds though few samples are left of each pitch.
func TestRangeRest(t *testing.T) {
	const restV, endV, noise = 0.25, 2.5, 0.004
	for text, pitches := range map[string]float64{"12-1": 12, "24-1": 24, "36-1": 36} {
		for name, lobe := range lobeShapes {
			e := eccentric{wheel: text, lobe: lobe, rpm: [2]float64{1000, 7000}, seconds: 3}
			e.hz = 17 * e.rpm[1] / 60 * pitches
			v, _ := e.samples(t)
			random := rand.New(rand.NewPCG(7, 6))
			for i, x := range v {
				v[i] = restV + max(-endV, min(x, endV)) + noise*random.NormFloat64()
			}
			if worst, _ := restOff(t, v, e.hz, restV, text); worst > 0.007 {
				t.Errorf("%s, %s: the rest level is off by up to %.3f V", text, name, worst)
			}
		}
	}
}
