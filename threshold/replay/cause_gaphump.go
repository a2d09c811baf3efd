package replay

import (
	"fmt"
	"math"
)

const (
	leastPulseWidth = 0.1  // pitches, at half its height, of what another sensor's tooth makes
	leastHumpWidth  = 0.25 // pitches; narrower ones are no metal
	widthGrowsMost  = 0.5  // exponent of the width over speed; a spike's is 1
	leastBack       = 0.3  // of the flux that metal brings, to go back behind it; a spike's does not
	surelySecond    = 0.9  // of the times between a gap's humps that are even numbers of turns
)

// studyGapHump: what stands in a gap makes a wave of its own, as wide in angle
// as ever and as high beside the teeth, that swings to both sides of rest: it comes and
// goes. Without it: the gap empty.
func studyGapHump(q *inquiry) opinion {
	h := q.humps()
	o := opinion{
		excluded: h.excluded,
		advice:   "Look into the gap of the wheel for metal left standing; raise the threshold above the hump where the teeth allow it",
		not:      "Do not look for an ignition problem",
	}
	if !h.areMetal {
		return o
	}
	o.explains = h.is
	o.evidence = func(list hits) string {
		return fmt.Sprintf("a hump of up to %s %s, %.1f pitches wide at any speed, over a threshold of %s, %s", volts(list.highest()), q.inGaps(list), h.width, volts(list.median(thresholdOf)), list.between())
	}
	return o
}

// humps are false events that come at a place of their own, in a gap or between teeth.
type humps struct {
	is        func(*fault) bool
	list      hits
	width     float64 // pitches
	grows     float64 // exponent of the width over speed; 0 where the speeds do not tell
	arePulses bool    // they are as wide in angle at any speed, and no spike
	areMetal  bool    // these, and take the flux away again that they bring
	excluded  string
}

// humps are those in gaps.
func (q *inquiry) humps() humps { return q.humpsWhere(func(f *fault) bool { return f.is(inGap) }) }

func (q *inquiry) humpsWhere(place func(*fault) bool) humps {
	locked := q.lockedPlace()
	h := humps{is: func(f *fault) bool { return place(f) && !f.is(split) && locked(f) }}
	h.list = q.which(h.is)
	h.excluded = fmt.Sprintf("%s inside a gap turn by turn", counted(len(h.list), "false event"))
	if len(h.list) == 0 {
		return h
	}
	width := func(f *fault) float64 { return float64(f.width) }
	h.width = h.list.median(width)
	back := h.list.median(func(f *fault) float64 { return float64(f.back) })
	h.grows = h.list.slope(width)
	h.arePulses = h.width >= leastHumpWidth && h.grows <= widthGrowsMost && !q.areSparks(h.list)
	h.areMetal = h.arePulses && back > leastBack
	h.excluded += fmt.Sprintf(", %.2f of a pitch wide; %s of the flux under them goes back behind", h.width, percent(back))
	return h
}

// areSparks tells that pulses which come in every second turn, whatever the gap has in both,
// are narrow and last as long at any speed: an engine with an odd number of cylinders makes
// them as often as its camshaft would.
func (q *inquiry) areSparks(list hits) bool {
	if !q.comeInSecondTurns(list) {
		return false
	}
	own := func(f *fault) float64 { return float64(f.level) }
	known, _ := list.part(func(f *fault) bool { return f.level > 0 })
	return 2*len(known) > len(list) && (known.median(own) < leastPulseWidth || known.slope(own) > widthGrowsMost)
}

// inGaps tells which gap a wheel's humps are in.
func (q *inquiry) inGaps(list hits) string {
	for _, f := range list {
		if f.tooth != list[0].tooth {
			return "in every gap"
		}
	}
	if len(q.fold().gaps) > 1 {
		return fmt.Sprintf("in the gap behind tooth %d", list[0].tooth)
	}
	return "in every gap"
}

// comeInSecondTurns tells that a gap has its hump in every second turn of the crank,
// and none between.
func (q *inquiry) comeInSecondTurns(list hits) bool {
	if q.o.OnCam {
		return false
	}
	even, all := 0, 0
	before := map[uint16]*fault{}
	for _, f := range list {
		if b := before[f.tooth]; b != nil {
			turns := q.turnsBetween(b, f)
			all++
			if turns > 1.5 && math.Abs(math.Remainder(turns, 2)) < 0.5 {
				even++
			}
		}
		before[f.tooth] = f
	}
	return all >= leastFaults && float64(even) >= surelySecond*float64(all)
}
