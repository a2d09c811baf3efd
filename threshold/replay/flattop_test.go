package replay

import (
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
	"armcurve/captures/teeth"
)

// TestFlatByShape: tops that are flat at any height are the teeth's own, those that are
// flat only at the highest are cut off.
func TestFlatByShape(t *testing.T) {
	missed := func(lowFlags flags) (list hits) {
		for i := range 20 {
			f := &fault{heightV: 6, thresholdV: 11, flags: lowFlags}
			if i >= 10 {
				f.heightV, f.flags = 10, flatTop
			}
			list = append(list, f)
		}
		return list
	}
	if !areFlatByShape(missed(flatTop), 10) {
		t.Error("flat at any height: taken for cut off")
	}
	if areFlatByShape(missed(0), 10) {
		t.Error("flat at the highest only: taken for the shape of the teeth")
	}
}

// TestFlatAtOneSpeed: flat tops of teeth that differ, as teeth do, are their own at one
// speed as well; cut off, all are alike.
func TestFlatAtOneSpeed(t *testing.T) {
	const turn, pitch = 24, 60
	random := rand.New(rand.NewPCG(9, 1))
	var heights [turn]float64
	for k := range heights {
		heights[k] = 2 * (1 + 0.01*random.NormFloat64())
	}
	for _, c := range []struct {
		endV float64
		want string
	}{{3, AmplitudeBelow}, {1.7, Clipped}} {
		w := &recording{info: captures.WaveInfo{StepS: 1 / 40e3}}
		for i := range 40 * turn * pitch {
			v := heights[i/pitch%turn] * math.Tanh(4*math.Sin(2*math.Pi*(float64(i)+0.5)/pitch))
			w.v = append(w.v, min(max(v, -c.endV), c.endV)+0.01*random.NormFloat64())
		}
		for k := range 40*turn - 1 {
			w.passed = append(w.passed, teeth.Passage{
				Tooth: captures.Tooth{Number: k%turn + 1, RPM: 1667, PeakV: 2}, Seen: true, At: float64(k*pitch+pitch/2) - 0.5,
			})
		}
		_, result := w.playOn24(t, simulate.Row{RPM: 0, ThresholdV: 1}, simulate.Row{RPM: 1000, ThresholdV: 2.2})
		if result.Missed < 10 || len(result.Causes) == 0 || result.Causes[0].Kind != c.want {
			t.Errorf("cut off at %g V: %d missed, %+v; want %s", c.endV, result.Missed, result.Causes, c.want)
		}
	}
}

// TestFlatOfFewSamples: where an arch has hardly more than its foot and its top, several
// tell whether they are cut off.
func TestFlatOfFewSamples(t *testing.T) {
	const turn = 24
	for _, pitch := range []float64{12.3, 14.7, 17.1, 19.4} {
		for _, c := range []struct {
			endV float64
			want string
		}{{3, AmplitudeBelow}, {1.2, Clipped}} {
			w := &recording{info: captures.WaveInfo{StepS: 60.0 / 1667 / turn / pitch}}
			for i := range int(60 * turn * pitch) {
				v := 2 * math.Sin(2*math.Pi*float64(i)/pitch)
				w.v = append(w.v, min(max(v, -c.endV), c.endV))
			}
			for k := range 60*turn - 1 {
				w.passed = append(w.passed, teeth.Passage{
					Tooth: captures.Tooth{Number: k%turn + 1, RPM: 1667, PeakV: 2}, Seen: true, At: (float64(k) + 0.5) * pitch,
				})
			}
			_, result := w.playOn24(t, simulate.Row{RPM: 0, ThresholdV: 0.5}, simulate.Row{RPM: 1000, ThresholdV: min(2, c.endV) + 0.1})
			if result.Missed < 10 || len(result.Causes) == 0 || result.Causes[0].Kind != c.want {
				t.Errorf("%g samples in a pitch, cut off at %g V: %d missed, %+v; want %s", pitch, c.endV, result.Missed, result.Causes, c.want)
			}
		}
	}
}

// TestPiled: pointed teeth of which an end cuts off little do not look flat, but stand at
// the same height at any speed; those that level off go on growing.
func TestPiled(t *testing.T) {
	const turn = 24
	for _, c := range []struct {
		name    string
		heightV func(rpm float64) float64
		want    string
	}{
		{"cut off", func(rpm float64) float64 { return rpm / 1000 }, Clipped},
		{"levels off", func(rpm float64) float64 { return 4.2 / math.Hypot(1, 1500/rpm) }, AmplitudeBelow},
	} {
		w := &recording{info: captures.WaveInfo{StepS: 1e-5}}
		random := rand.New(rand.NewPCG(4, 1))
		pitches, rpm := 0.0, 2500.0
		for k := 0.5; rpm < 5600; rpm += 2e-2 {
			pitches += rpm / 60 * turn * w.info.StepS
			u := pitches - math.Floor(pitches)
			v := c.heightV(rpm) * (1 - 4*math.Abs(math.Abs(u-0.5)-0.25)) * math.Copysign(1, 0.5-u)
			w.v = append(w.v, min(v+0.01*random.NormFloat64(), 4))
			if pitches >= k {
				w.passed = append(w.passed, teeth.Passage{
					Tooth: captures.Tooth{Number: len(w.passed)%turn + 1, RPM: rpm, PeakV: c.heightV(rpm)}, Seen: true, At: float64(len(w.v)-1) - (pitches-k)*60/rpm/turn/w.info.StepS,
				})
				k++
			}
		}
		_, result := w.playOn24(t, simulate.Row{RPM: 0, ThresholdV: 1}, simulate.Row{RPM: 3000, ThresholdV: 2}, simulate.Row{RPM: 4000, ThresholdV: 4.1})
		if result.Missed < 100 || len(result.Causes) == 0 || result.Causes[0].Kind != c.want {
			t.Errorf("%s: %d missed, %+v; want %s", c.name, result.Missed, result.Causes, c.want)
		}
	}
}
