package replay

import (
	"math"

	"armcurve/captures"
)

// bordersRPM part the speeds of a result.
var bordersRPM = [...]float64{0, 250, 500, 750, 1000, 1500, 2000, 3000, 4000, 5000, 6000, 7000, 8000, 10000, 12000, 15000, math.MaxFloat64}

const speedBands = len(bordersRPM) - 1

func bandOf(rpm float64) int {
	for i := 1; i < speedBands; i++ {
		if rpm < bordersRPM[i] {
			return i - 1
		}
	}
	return speedBands - 1
}

// band is what the wave itself showed between two speeds, whatever the table.
type band struct {
	lowRPM, highRPM float64 // met
	teeth           int64
	peaksV          float64 // sum of the teeth's arches
	weakestV        float64 // lowest arch of a tooth, not beside a loss of the wave
	unwantedV       float64 // highest arch that is none, or a second one at a tooth
}

func newBands() (b [speedBands]band) {
	for i := range b {
		b[i].lowRPM, b[i].highRPM = math.Inf(1), math.Inf(-1)
		b[i].weakestV = math.Inf(1)
	}
	return b
}

func (b *band) meet(rpm float64) {
	b.lowRPM, b.highRPM = min(b.lowRPM, rpm), max(b.highRPM, rpm)
}

// Counts are what an input made of some teeth.
type Counts struct {
	Expected int64 // teeth of the wheel
	Counted  int64 // with an event
	Missed   int64 // without one, though the wave has them
	Unseen   int64 // without one, and absent from the wave
	False    int64 // events without a tooth
}

func (c *Counts) add(o Counts) {
	c.Expected += o.Expected
	c.Counted += o.Counted
	c.Missed += o.Missed
	c.Unseen += o.Unseen
	c.False += o.False
}

// Faults is what went wrong in all.
func (c Counts) Faults() int64 { return c.Missed + c.Unseen + c.False }

// Band is what happened between two speeds.
type Band struct {
	FromRPM, ToRPM float64 // met, in this capture
	Counts
	PeakV captures.Maybe // mean height of the teeth at the comparator
	// LowestSafeV is the lowest fixed threshold that would have counted no
	// false event, HighestSafeV the highest that would have lost no tooth; in
	// this very capture, at these speeds. Above LowestSafeV and under
	// HighestSafeV no fault occurs; there is no such threshold where the first
	// is not the lower one. Teeth beside a loss of the wave, which may be cut off
	// with it, are left out: no threshold mends that.
	LowestSafeV, HighestSafeV captures.Maybe
	// MissedAtMost is the upper bound of the share of teeth missed that the
	// count proves, FalseAtMost that of false events per tooth (Clopper and
	// Pearson 1934).
	MissedAtMost, FalseAtMost float64
}

// bandsOf puts counts and what the wave showed together, where any was met.
func bandsOf(waves *[speedBands]band, counts *[speedBands]Counts, confidence float64) []Band {
	var out []Band
	for i, w := range waves {
		if w.highRPM < w.lowRPM {
			continue
		}
		b := Band{FromRPM: w.lowRPM, ToRPM: w.highRPM, Counts: counts[i], LowestSafeV: captures.Some(max(w.unwantedV, 0))}
		if w.teeth > 0 {
			b.PeakV = captures.Finite(w.peaksV / float64(w.teeth))
			b.HighestSafeV = captures.Finite(w.weakestV)
		}
		b.MissedAtMost = AtMost(b.Missed, b.Expected, confidence)
		b.FalseAtMost = AtMost(min(b.False, b.Expected), b.Expected, confidence)
		out = append(out, b)
	}
	return out
}
