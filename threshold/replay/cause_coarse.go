package replay

import (
	"fmt"
	"math"
)

// studyCoarse: with fewer than six samples in a pitch the replay sees another
// wave than the input did.
func studyCoarse(q *inquiry) opinion {
	least := "no two teeth follow each other"
	if !math.IsInf(q.leastPitch, 1) {
		least = fmt.Sprintf("at least %.1f samples in a pitch", q.leastPitch)
	}
	return opinion{
		explains: func(f *fault) bool { return f.is(coarse) },
		evidence: func(h hits) string {
			return fmt.Sprintf("down to %.1f samples in a pitch, %s: neither peaks nor falls are where the sensor had them", q.leastPitch, h.between())
		},
		excluded: least,
		advice:   "Record again with at least 20 samples in a pitch",
		not:      "Do not change the table because of this capture",
	}
}
