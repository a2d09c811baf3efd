package threshold

import (
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
)

// TestNarrowWindow: however different the targets, a window with room for a
// threshold but not for both targets has one inside, which keeps the same part
// of both in decibels and which no other beats; with just enough room it meets
// both.
func TestNarrowWindow(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 1))
	s := measured(t, DefaultOptions(), captures.Reading{NoiseV: captures.Some(0.01)})
	for range 2000 {
		w := Window{
			RPM: 3000, SignalTarget: 1.01 + 4*r.Float64()*r.Float64(), NoiseTarget: 1.01 + 4*r.Float64()*r.Float64(), Measured: true, Turning: true,
		}
		part := 0.01 + 0.99*r.Float64()
		noiseV := math.Exp(6*r.Float64() - 3)
		w.NoiseV = captures.Some(noiseV)
		w.WeakestV = noiseV * math.Pow(w.SignalTarget*w.NoiseTarget, part)

		v, ok := s.aim(w)
		m := w.judge(v)
		if !ok || m.verdict != Thin {
			t.Fatalf("%+v: %v V is %v", w, v, m.verdict)
		}
		near(t, "part of the signal margin", math.Log(m.signal.Value)/math.Log(w.SignalTarget), part, 1e-6)
		near(t, "part of the noise margin", math.Log(m.noise.Value)/math.Log(w.NoiseTarget), part, 1e-6)
		near(t, "score", m.score, w.bestScore(), 1e-9)
		if other := w.judge(v * math.Exp(0.1*(r.Float64()-0.5))); other.score > m.score*(1+1e-12) {
			t.Errorf("%+v: score %v, %v beside it", w, m.score, other.score)
		}
		w.WeakestV = noiseV * w.SignalTarget * w.NoiseTarget * (1 - 1e-9)
		if v, ok = s.aim(w); !ok || w.judge(v).score < 1-1e-8 {
			t.Errorf("%+v: %v where there is room for both targets", w, w.judge(v))
		}
	}
}

// TestInsideBeforeScore: of two steps the one inside the window is taken, though
// the other, beside the noise, is nearer to the best threshold.
func TestInsideBeforeScore(t *testing.T) {
	w := Window{RPM: 1000, WeakestV: 1.3, NoiseV: captures.Some(1), SignalTarget: 2, NoiseTarget: 1.25, Measured: true, Turning: true}
	f := &frame{speeds: []float64{1000}, windows: []Window{w}, steps: steps{v: 0.2475, min: 1, max: 9}} // 0.99 and 1.2375 V
	f.groups = []group{{fromRPM: 1000, toRPM: 1000, window: w, aim: 4.4, weakest: 1.3 / 0.2475}}
	f.close()
	f.raise()
	if outer, inner := w.judge(0.99).score, w.judge(1.2375).score; outer < inner {
		t.Fatalf("0.99 V has score %v, 1.2375 V %v: no case in point", outer, inner)
	}
	if got := f.nearest(); got[0] != 5 {
		t.Errorf("step %v, want 5", got)
	}
}
