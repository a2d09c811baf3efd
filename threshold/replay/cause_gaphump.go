package replay

import "fmt"

const (
	leastHumpWidth = 0.25 // pitches; narrower ones are no metal
	widthGrowsMost = 0.5  // exponent of the width over speed; a spike's is 1
)

// studyGapHump: what stands in a gap makes a wave of its own, as wide in angle
// as ever and as high beside the teeth. Without it: the gap empty.
func studyGapHump(q *inquiry) opinion {
	locked := q.lockedPlace()
	steadily := func(f *fault) bool { return f.is(inGap) && !f.is(split) && locked(f) }
	list := q.which(steadily)
	width := list.median(func(f *fault) float64 { return float64(f.width) })
	growth := list.slope(func(f *fault) float64 { return float64(f.width) })
	o := opinion{
		excluded: fmt.Sprintf("%s inside a gap turn by turn", counted(len(list), "false event")),
		advice:   "Look into the gap of the wheel for metal left standing; raise the threshold above the hump where the teeth allow it",
		not:      "Do not look for an ignition problem",
	}
	if len(list) == 0 {
		return o
	}
	o.excluded += fmt.Sprintf(", %.2f of a pitch wide", width)
	if width < leastHumpWidth || growth > widthGrowsMost {
		return o
	}
	o.explains = steadily
	o.evidence = func(h hits) string {
		return fmt.Sprintf("a hump of up to %s in every gap, %.1f pitches wide at any speed, over a threshold of %s, %s", volts(h.highest()), width, volts(h.median(thresholdOf)), h.between())
	}
	return o
}
