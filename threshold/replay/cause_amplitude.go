package replay

import (
	"fmt"
	"math"
)

// studyAmplitude takes the misses that nothing else explains: the teeth do not
// reach the threshold.
func studyAmplitude(q *inquiry) opinion {
	missed := q.isLow
	grown, of := q.growth()
	return opinion{
		explains: missed,
		evidence: func(h hits) string {
			text := fmt.Sprintf("teeth rise to %s where the threshold is %s, %s", volts(h.median(height)), volts(h.median(thresholdOf)), h.between())
			if of > 1.3 {
				text += fmt.Sprintf("; the peaks grow %.1f-fold while speed grows %.1f-fold", grown, of)
			}
			return text
		},
		excluded: fmt.Sprintf("%d missed teeth are left", len(q.open(missed))),
		advice:   q.lowerTo(),
		not:      "Do not raise the table: no noise was counted here",
	}
}

// isLow tells that a tooth was missed, and not because noise had moved the threshold.
func (q *inquiry) isLow(f *fault) bool { return !f.is(isFalse|isUnseen) && !q.isThrown(f) }

// isThrown tells that a tooth would have passed at the true speed's threshold, but
// the false events before the first speed made another speed of it, too high a one to
// ever count again.
func (q *inquiry) isThrown(f *fault) bool {
	return len(q.early) > 0 && f.is(follows) && !f.is(isFalse) && f.thresholdV > f.heightV
}

// open are the faults of a kind that no cause has yet.
func (q *inquiry) open(is func(*fault) bool) hits {
	list, _ := q.explained(opinion{explains: is})
	return list
}

// growth is how much the teeth grow, and speed with it, over the upper half of
// the speeds met.
func (q *inquiry) growth() (volts, of float64) {
	var low, high *band
	var lowRPM, highRPM float64
	for i := range q.waves {
		b := &q.waves[i]
		if b.teeth == 0 {
			continue
		}
		high, highRPM = b, (b.lowRPM+b.highRPM)/2
	}
	for i := range q.waves {
		if b := &q.waves[i]; low == nil && b.teeth > 0 && (b.lowRPM+b.highRPM)/2 > 0.35*highRPM {
			low, lowRPM = b, (b.lowRPM+b.highRPM)/2
		}
	}
	if low == nil || low == high {
		return 1, 1
	}
	return high.peaksV / float64(high.teeth) / (low.peaksV / float64(low.teeth)), highRPM / lowRPM
}

// lowerTo says where the threshold has to go at the speeds of the misses.
func (q *inquiry) lowerTo() string {
	h := q.open(q.isLow)
	if len(h) == 0 {
		return ""
	}
	low, high := h.speeds()
	weakestV, unwantedV := q.safe(low, high)
	switch {
	case math.IsInf(weakestV, 1):
		return fmt.Sprintf("No tooth %s was seen clearly enough to say how far to lower the threshold", span(low, high))
	case unwantedV < weakestV:
		return fmt.Sprintf("Lower the threshold %s to under %s; nothing but teeth rose above %s there", span(low, high), volts(weakestV), volts(unwantedV))
	}
	return fmt.Sprintf("The weakest teeth %s rise to %s, other things to %s: no threshold is right before the signal is larger, by a smaller air gap or a lighter load", span(low, high), volts(weakestV), volts(unwantedV))
}

// safe is the weakest tooth and the highest other arch in the bands of some
// speeds.
func (q *inquiry) safe(lowRPM, highRPM float64) (weakestV, unwantedV float64) {
	weakestV = newBands()[0].weakestV
	for i := bandOf(lowRPM); i <= bandOf(highRPM); i++ {
		weakestV = min(weakestV, q.waves[i].weakestV)
		unwantedV = max(unwantedV, q.waves[i].unwantedV)
	}
	return weakestV, unwantedV
}
