package threshold

import (
	"math/rand/v2"
	"testing"

	"armcurve/captures"
)

// TestProof: a proposed table that misses a target keeps as much as any can;
// bounds follow each other; what holds it back is what costs most.
func TestProof(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	held := map[string]int{}
	for n := range 300 {
		i := invent(r)
		result, err := Propose(i.readings, i.options)
		if err != nil {
			t.Fatal(err)
		}
		w, p := result.Judgement.Worst, result.Proof
		held[w.HeldBackBy]++
		if !p.Best.Known {
			continue
		}
		best := p.Best.Value
		if w.Score > best*(1+1e-6) || w.Score < min(1, best)*(1-1e-6) {
			t.Errorf("sensor %d: worst score %v, best %v", n, w.Score, best)
		}
		if kept := p.Window * (1 - p.AxisCost) * (1 - p.LimitCost) * (1 - p.StepCost); kept < best*(1-1e-6) || kept > best*(1+1e-6) {
			t.Errorf("sensor %d: %+v: costs leave %v", n, p, kept)
		}
		if w.HeldBackBy == HeldByThreshold {
			t.Errorf("sensor %d: a proposed table is held back by its thresholds", n)
		}
	}
	t.Log(held)
}

// TestHeldBackBy sets up one reason at a time.
func TestHeldBackBy(t *testing.T) {
	readings := []captures.Reading{
		{NoiseV: captures.Some(0.02)},
		{RPM: 200, PeakV: captures.Some(0.6), WeakestV: captures.Some(0.4), NoiseV: captures.Some(0.03)},
		{RPM: 800, PeakV: captures.Some(2.4), NoiseV: captures.Some(0.04)},
		{RPM: 2000, PeakV: captures.Some(5.6), NoiseV: captures.Some(0.06)},
		{RPM: 6000, PeakV: captures.Some(13), NoiseV: captures.Some(0.1)},
	}
	cases := []struct {
		want   string
		change func(*Options)
	}{
		{HeldByNoise, func(o *Options) { o.NoiseReach = 12 }},
		{HeldByStep, func(o *Options) { o.Input.StepV = 0.3 }},
		{HeldByLimit, func(o *Options) { o.Input.MinV = captures.Some(0.3) }},
		{HeldByAxis, func(o *Options) { o.Axis.AtRPM, o.Input.BetweenRows = []float64{0, 3000}, Step }},
	}
	for _, c := range cases {
		o := DefaultOptions()
		c.change(&o)
		r, err := Propose(readings, o)
		if err != nil {
			t.Fatal(err)
		}
		if w := r.Judgement.Worst; w.HeldBackBy != c.want {
			t.Errorf("want %s, found %s: %+v, %+v", c.want, w.HeldBackBy, w, r.Proof)
		}
	}
	o := DefaultOptions()
	rows := []Row{{RPM: 0, ThresholdV: captures.Some(0.1)}, {RPM: 6000, ThresholdV: captures.Some(9)}}
	r, err := Check(readings, NewTable(rows, Linear), o)
	if err != nil {
		t.Fatal(err)
	}
	if w := r.Judgement.Worst; w.HeldBackBy != HeldByThreshold {
		t.Errorf("want threshold, found %s: %+v", w.HeldBackBy, r.Proof)
	}
	o.NoiseReach = 12
	if r, err = Propose(readings, o); err != nil || r.Judgement.Worst.NoisePart != PartNoise {
		t.Errorf("want the part %s, found %+v, %v", PartNoise, r.Judgement.Worst, err)
	}
	for i := range readings {
		readings[i].NoiseV = captures.Maybe{}
	}
	if r, err = Propose(readings[1:], o); err != nil || r.Judgement.Worst.HeldBackBy != HeldBySignal || r.Proof.Best.Known {
		t.Errorf("without noise: want the signal and no bound, found %+v, %v", r.Judgement.Worst, err)
	}
}
