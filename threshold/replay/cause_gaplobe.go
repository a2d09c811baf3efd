package replay

import (
	"fmt"
	"math"
)

// studyGapLobe: teeth beside a gap rise to another height than the others, the
// more so the faster the wheel turns. Without it: levelled to the run of the others.
func studyGapLobe(q *inquiry) opinion {
	rim := q.rim
	lowest, highest, at, top := math.Inf(1), 0.0, 0, 0
	for k := range rim.Level {
		if !rim.Beside[k] || rim.Short[k] || rim.Level[k] <= 0 {
			continue
		}
		if rim.Level[k] < lowest {
			lowest, at = rim.Level[k], k+1
		}
		if rim.Level[k] > highest {
			highest, top = rim.Level[k], k+1
		}
	}
	if at == 0 {
		return opinion{excluded: "the wheel has no gap"}
	}
	return opinion{
		explains: func(f *fault) bool {
			k, ok := rim.of(f)
			return ok && rim.Beside[k] && !rim.Short[k] && cured(f, float64(f.level)/rim.Swing[k])
		},
		evidence: func(h hits) string {
			return fmt.Sprintf("beside the gap tooth %d rises to %s of the mean and tooth %d to %s; the missed ones are there, %s", at, percent(lowest), top, percent(highest), h.between())
		},
		excluded: fmt.Sprintf("beside the gap teeth rise to %s to %s of the mean", percent(lowest), percent(highest)),
		advice:   "Take the threshold from the lowest tooth beside the gap, not from the tallest one on the screen",
		not:      "The enlarged tooth after a gap says nothing about the others",
	}
}
