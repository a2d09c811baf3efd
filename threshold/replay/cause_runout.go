package replay

import "fmt"

const leastRunOut = 0.04

// studyRunOut: heights swing once a turn. Without it: the swing levelled.
func studyRunOut(q *inquiry) opinion {
	rim := q.rim
	o := opinion{
		excluded: fmt.Sprintf("tooth heights swing by ±%s once a turn", percent(rim.amount)),
		advice:   "Have the wheel run true: check how it is seated, and the bearing; a smaller mean air gap helps less than an even one",
		not:      "Do not lower the table to the smallest teeth before the noise there is known",
	}
	if rim.amount < leastRunOut {
		return o
	}
	o.explains = func(f *fault) bool {
		k, ok := rim.of(f)
		return ok && !rim.short[k] && cured(f, rim.swing[k])
	}
	o.evidence = func(h hits) string {
		return fmt.Sprintf("tooth heights swing by ±%s once a turn, lowest about tooth %d; the misses are on that side, %s", percent(rim.amount), rim.lowest, h.between())
	}
	return o
}
