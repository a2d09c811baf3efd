package replay

import (
	"fmt"
	"math"
)

// hasNoThreshold tells of a miss at a speed for which the table has no threshold: the
// input never arms there.
func (f *fault) hasNoThreshold() bool { return math.IsInf(float64(f.thresholdV), 1) }

// studyNoThreshold: a proposed table has none where noise reaches the weakest tooth.
func studyNoThreshold(q *inquiry) opinion {
	list := q.which((*fault).hasNoThreshold)
	return opinion{
		explains: (*fault).hasNoThreshold,
		evidence: func(h hits) string {
			return "the table has no threshold " + h.between() + ", and nothing is counted there"
		},
		excluded: fmt.Sprintf("%d teeth passed where the table has no threshold", len(list)),
		advice:   "Part what is noise from what are teeth first: propose and check say how far noise rises at these speeds, and how low the weakest tooth is",
	}
}
