package replay

import (
	"fmt"
	"math"
	"sort"
)

// studyCrankLocked: false events that are there turn by turn at the same crank
// angle, or in every second turn. Without it: that part taken off.
func studyCrankLocked(q *inquiry) opinion {
	locked := func(f *fault) bool {
		return f.is(isFalse) && f.partV > 0.5*f.heightV && f.heightV-f.partV <= f.thresholdV
	}
	list := q.which(locked)
	return opinion{
		explains: locked,
		evidence: func(h hits) string {
			power := h.slope(height)
			text := fmt.Sprintf("spikes of up to %s at the same crank angle%s, over a threshold of %s, %s",
				volts(h.highest()), q.places(h), volts(h.median(thresholdOf)), h.between())
			if power != 0 {
				text += fmt.Sprintf("; they grow with speed to the power of %.1f", power)
			}
			return text
		},
		excluded: fmt.Sprintf("%s come turn by turn at the same angle", counted(len(list), "false event")),
		advice:   "Look at what switches at this angle, ignition or injection: part its wires from the sensor's, screen them, use resistor plugs and leads; if the teeth leave room, raise the threshold there",
		not:      "Do not lower the table",
	}
}

// places are the crank angles that the events come at, the commonest four.
func (q *inquiry) places(h hits) string {
	const binDeg = 5
	count := map[int]int{}
	for _, f := range h {
		if deg := q.crankDeg(f); deg.Known {
			count[int(math.Floor(deg.Value/binDeg))]++
		}
	}
	var bins []int
	for bin := range count {
		bins = append(bins, bin)
	}
	sort.Slice(bins, func(i, j int) bool {
		if count[bins[i]] != count[bins[j]] {
			return count[bins[i]] > count[bins[j]]
		}
		return bins[i] < bins[j]
	})
	text := ""
	for i, bin := range bins[:min(len(bins), 4)] {
		text += map[bool]string{true: ", ", false: " and "}[i == 0] + fmt.Sprintf("%d…%d°", bin*binDeg, (bin+1)*binDeg)
	}
	return text
}
