package replay

import "fmt"

// studyClipped: the instrument ran out of range below the threshold, so the
// replay misses teeth that the input may well have counted.
func studyClipped(q *inquiry) opinion {
	flat := q.which(func(f *fault) bool { return f.is(flatTop) })
	recordedV := func(f *fault) float64 { return float64(f.partV) }
	topV := q.topV
	if q.filter != nil {
		topV = q.recordedV
	}
	return opinion{
		explains: func(f *fault) bool { return f.is(flatTop) && recordedV(f) > 0.98*topV },
		evidence: func(h hits) string {
			return fmt.Sprintf("the peaks stand flat at %s, the end of the instrument's range, where the threshold is %s, %s",
				volts(h.median(recordedV)), volts(h.median(thresholdOf)), h.between())
		},
		excluded: fmt.Sprintf("%d of the missed teeth have a flat top; the highest sample is %s", len(flat), volts(topV)),
		advice:   "Record again with a wider range or a ×10 probe: what the input saw above this level is not in the capture",
		not:      "Do not lower the table because of these misses",
		evident:  true,
	}
}
