package replay

import (
	"fmt"
	"math"
)

// studyShortTooth: single teeth far below their neighbours. Without it: levelled
// to the run of the others.
func studyShortTooth(q *inquiry) opinion {
	rim := q.rim
	names, lowest, at := "", math.Inf(1), 0
	for k, isShort := range rim.Short {
		share := rim.Level[k] / rim.Swing[k]
		if isShort {
			if names != "" {
				names += ", "
			}
			names += plain(k + 1)
		}
		if (isShort || !rim.Beside[k]) && rim.Level[k] > 0 && share < lowest {
			lowest, at = share, k+1
		}
	}
	o := opinion{
		advice: "Look at tooth " + names + " for damage and mend or change the wheel; until then the threshold must stay under it",
		not:    "Do not lower the table for all teeth more than the noise allows",
	}
	if at == 0 {
		o.excluded = "single teeth are not known"
		return o
	}
	o.excluded = fmt.Sprintf("the lowest single tooth, number %d, rises to %s of its neighbours", at, percent(lowest))
	o.explains = func(f *fault) bool {
		k, ok := rim.of(f)
		return ok && rim.Short[k] && cured(f, rim.Level[k]/rim.Swing[k])
	}
	o.evidence = func(h hits) string {
		return fmt.Sprintf("tooth %s rises to %s of its neighbours and is missed %s", names, percent(lowest), h.between())
	}
	return o
}
