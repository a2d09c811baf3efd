package replay

import "fmt"

// studyCrankingDip: compression slows the wheel while the table is looked up at
// the mean speed. Without it: an even speed.
func studyCrankingDip(q *inquiry) opinion {
	top := q.o.crankingTopRPM()
	slow := func(f *fault) bool {
		return f.dip > 0 && q.meanRPM(f) <= top && cured(f, float64(f.dip)) && f.dip < 0.95
	}
	deepest := 1.0
	for i := range q.faults {
		if f := &q.faults[i]; f.dip > 0 && q.meanRPM(f) <= top {
			deepest = min(deepest, float64(f.dip))
		}
	}
	bestV, faults := q.height.best(0, top)
	return opinion{
		explains: slow,
		evidence: func(h hits) string {
			mean := h.median(func(f *fault) float64 { return q.meanRPM(f) })
			return fmt.Sprintf("at %s the wheel slows to %s of it at each compression, and the teeth shrink with it to %s under a threshold of %s",
				speed(mean), percent(h.median(func(f *fault) float64 { return float64(f.dip) })), volts(h.median(height)), volts(h.median(thresholdOf)))
		},
		excluded: fmt.Sprintf("where teeth are missed up to %s, the wheel slows to %s of its mean speed", speed(top), percent(deepest)),
		advice:   fmt.Sprintf("Lower the threshold up to %s to about %s, which would have left %s; charge the battery", speed(top), volts(bestV), counted(int(faults), "fault")),
		not:      "The table above cranking has no part in it",
	}
}
