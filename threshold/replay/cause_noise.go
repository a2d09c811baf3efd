package replay

import (
	"fmt"
	"math"
)

// studyNoise takes the false events that nothing else explains: noise rises
// above the threshold.
func studyNoise(q *inquiry) opinion {
	unwanted := func(f *fault) bool { return f.is(isFalse) }
	return opinion{
		explains: func(f *fault) bool { return unwanted(f) || q.isThrown(f) },
		evidence: func(h hits) string {
			if events, _ := h.part(unwanted); len(events) == 0 {
				return fmt.Sprintf("%s before the first speed is known make it out to be so high that the threshold is %s, which teeth that rise to %s do not reach, %s",
					counted(int(q.unjudged), "false event"), volts(h.median(thresholdOf)), volts(h.median(height)), h.between())
			}
			lead := h.leading()
			text := fmt.Sprintf("noise without a fixed place or frequency rises to %s where the threshold is %s, %s", volts(lead.median(height)), volts(lead.median(thresholdOf)), lead.between())
			if n := len(h) - len(lead); 2*n > len(h) {
				text += fmt.Sprintf("; %s follow from these, as they make the speed out to be another", counted(n, "fault"))
			}
			return text
		},
		excluded: fmt.Sprintf("%d false events are left", len(q.open(unwanted))),
		advice:   q.raiseTo(unwanted),
		not:      "Do not lower the table",
	}
}

// raiseTo says where the threshold has to go at the speeds of false events.
func (q *inquiry) raiseTo(unwanted func(*fault) bool) string {
	h, highestV := q.open(unwanted), 0.0
	if highestV = h.highest(); len(h) == 0 {
		h = q.open(q.isThrown)
	}
	if len(h) == 0 {
		return ""
	}
	low, high := h.speeds()
	weakestV, unwantedV := q.safe(low, high)
	unwantedV = max(unwantedV, highestV)
	switch {
	case math.IsInf(weakestV, 1):
		return fmt.Sprintf("Raise the threshold %s to above %s; no tooth was seen there", span(low, high), volts(unwantedV))
	case unwantedV < weakestV:
		return fmt.Sprintf("Raise the threshold %s to above %s; the weakest tooth there rises to %s", span(low, high), volts(unwantedV), volts(weakestV))
	}
	return fmt.Sprintf("Noise rises to %s %s and the weakest tooth to %s: no one threshold is right for all of it; reduce the noise at its source, or the air gap, first", volts(unwantedV), span(low, high), volts(weakestV))
}
