package replay

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
)

// studyCrankLocked: false events that are there turn by turn at the same crank
// angle, or in every second turn, or at one that moves with speed. Without it: that part
// taken off, or nothing at the angles where false events gather; in a gap, where all that
// rises does. The teeth that vanish at such angles are hidden by it.
func studyCrankLocked(q *inquiry) opinion {
	steady, turn, gaps, drifts := q.lockedPlace(), q.fold(), q.gather(), q.drifts()
	hiding := len(q.hiddenTeeth()) > 0
	locked := func(f *fault) bool {
		if steady(f) || gaps.has(f) || hiding && (f.isLost() || f.is(besideDip)) {
			return true
		}
		deg, ok := q.foldedDeg(f)
		return ok && (turn.isPlace(deg) || slices.ContainsFunc(drifts, func(d drift) bool { return d.has(f, deg) }))
	}
	list := q.which(locked)
	return opinion{
		explains: locked,
		evidence: func(h hits) string { return q.lockedEvidence(h, len(drifts) > 0) },
		excluded: fmt.Sprintf("%s come turn by turn at the same angle", counted(len(list), "fault")),
		advice:   "Look at what switches at this angle, ignition or injection: part its wires from the sensor's, screen them, use resistor plugs and leads; if the teeth leave room, raise the threshold there",
		not:      "Do not lower the table",
	}
}

// lockedEvidence is what spikes are like, and the teeth that they hide.
func (q *inquiry) lockedEvidence(h hits, moves bool) string {
	var told []string
	angle := map[bool]string{false: "the same crank angle", true: "a crank angle that moves with speed"}[moves]
	if spikes, _ := h.part(func(f *fault) bool { return f.is(isFalse) }); len(spikes) > 0 {
		told = append(told, fmt.Sprintf("spikes of up to %s at %s%s, over a threshold of %s, %s",
			volts(spikes.highest()), angle, q.places(spikes), volts(spikes.median(thresholdOf)), spikes.between()))
		if power := spikes.slope(height); power != 0 {
			told = append(told, fmt.Sprintf("they grow with speed to the power of %.1f", power))
		}
	}
	if lost, _ := h.part((*fault).isLost); len(lost) > 0 {
		told = append(told, fmt.Sprintf("%s hidden turn by turn%s, %s, where the wave swings as ever", teethAre(len(lost)), q.places(lost), lost.between()))
	}
	return strings.Join(told, "; ")
}

// placesPerPitch is how finely places of the turn are told apart.
const placesPerPitch = 10

// lockedPlace tells of a false event whether it is at a place of the turn where
// most false events are for the greater part there turn by turn, and vanish
// without that part.
func (q *inquiry) lockedPlace() func(*fault) bool {
	place := func(f *fault) int { return int((float32(f.tooth) + f.part) * placesPerPitch) }
	known, locked := map[int]int{}, map[int]int{}
	for i := range q.faults {
		f := &q.faults[i]
		if !f.is(isFalse) || f.is(standing) || f.partV != f.partV {
			continue
		}
		known[place(f)]++
		if f.partV > 0.5*f.heightV && f.heightV-f.partV <= f.thresholdV {
			locked[place(f)]++
		}
	}
	return func(f *fault) bool {
		if !f.is(isFalse) || f.is(standing) {
			return false
		}
		all, some := 0, 0
		for p := place(f) - 1; p <= place(f)+1; p++ {
			all, some = all+known[p], some+locked[p]
		}
		return some >= leastFaults && 2*some > all
	}
}

// places are the crank angles that the events come at, the commonest four.
func (q *inquiry) places(h hits) string {
	const binDeg = 5
	count := map[int]int{}
	for _, f := range h {
		if deg := q.crankDeg(int(f.tooth), f.part); deg.Known {
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
