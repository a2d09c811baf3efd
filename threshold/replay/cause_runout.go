package replay

import (
	"fmt"

	"armcurve/captures/teeth/rims"
)

// studyRunOut: heights swing once a turn, or twice. Without it: the swing levelled.
func studyRunOut(q *inquiry) opinion {
	rim := q.rim
	often, advice := "once", "Have the wheel run true: check how it is seated, and the bearing; a smaller mean air gap helps less than an even one"
	if rim.Twice {
		often, advice = "twice", "Measure the wheel's rim with a gauge while the engine is turned over by hand: an oval or a bent one has to be changed or trued; a smaller mean air gap helps less than an even one"
	}
	swing := fmt.Sprintf("tooth heights swing by ±%s %s a turn", percent(rim.Amount), often)
	o := opinion{
		excluded: swing,
		advice:   advice,
		not:      "Do not lower the table to the smallest teeth before the noise there is known",
	}
	if rim.Amount < rims.LeastSwing {
		return o
	}
	o.explains = func(f *fault) bool {
		k, ok := rim.of(f)
		return ok && !rim.Short[k] && cured(f, rim.Swing[k])
	}
	o.evidence = func(h hits) string {
		return fmt.Sprintf("%s, lowest about %s; the misses are there, %s", swing, toothNames(rim.Lowest), h.between())
	}
	return o
}
