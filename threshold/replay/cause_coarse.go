package replay

import "fmt"

// studyCoarse: with fewer than six samples in a pitch the replay sees another
// wave than the input did.
func studyCoarse(q *inquiry) opinion {
	return opinion{
		explains: func(f *fault) bool { return f.is(coarse) },
		evidence: func(h hits) string {
			return fmt.Sprintf("down to %.1f samples in a pitch, %s: neither peaks nor falls are where the sensor had them", q.leastPitch, h.between())
		},
		excluded: fmt.Sprintf("at least %.1f samples in a pitch", q.leastPitch),
		advice:   "Record again with at least 20 samples in a pitch",
		not:      "Do not change the table because of this capture",
	}
}
