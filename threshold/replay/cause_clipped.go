package replay

import "fmt"

// studyClipped: the instrument ran out of range below the threshold, so the
// replay misses teeth that the input may well have counted.
func studyClipped(q *inquiry) opinion {
	flat := q.which(func(f *fault) bool { return f.is(flatTop) })
	return opinion{
		explains: func(f *fault) bool { return f.is(flatTop) && float64(f.heightV) > 0.98*q.topV },
		evidence: func(h hits) string {
			return fmt.Sprintf("the peaks stand flat at %s, the end of the instrument's range, where the threshold is %s, %s",
				volts(h.median(height)), volts(h.median(thresholdOf)), h.between())
		},
		excluded: fmt.Sprintf("%d of the missed teeth have a flat top; the highest sample is %s", len(flat), volts(q.topV)),
		advice:   "Record again with a wider range or a ×10 probe: what the input saw above this level is not in the capture",
		not:      "Do not lower the table because of these misses",
		evident:  true,
	}
}
