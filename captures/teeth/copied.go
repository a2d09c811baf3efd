package teeth

import (
	"fmt"
	"math"

	"armcurve/captures"
)

const (
	copiedMost    = 0.8 // of the crank's pitches have just one pulse, where the crank's wave is seen
	fewestCopied  = 60  // pitches
	fewestGapless = 0.3 // of the gaps have fewer pulses than pitches: the cam's own may come in every second one
)

// CopiesCrank tells that most of what a cam's channel shows are the crank's teeth,
// both channels of one capture having been measured: a pulse for each, and none
// where the crank has none. An own wheel with as many teeth would have them there
// too.
func CopiesCrank(cam, crank Measurement) (evidence string, is bool) {
	for _, shift := range []float64{0, 0.5} {
		c := countCopies(cam.firstTeeth, crank.turns, shift)
		share := float64(c.single) / float64(c.pitches)
		if c.gaps > 0 && c.pitches >= fewestCopied && share > copiedMost && float64(c.gapsWithout) > fewestGapless*float64(c.gaps) {
			return fmt.Sprintf("the wave follows the crank's: %.0f %% of the crank's teeth have a pulse of their own in it, and %d of %d gaps have not",
				math.Floor(100*share), c.gapsWithout, c.gaps), true
		}
	}
	return "", false
}

// MayCopyCrank tells the same of a crank's wheel without gaps, where an own wheel would
// look alike: only what is left without the crank's wave tells them apart.
func MayCopyCrank(cam, crank Measurement) (evidence string, may bool) {
	for _, shift := range []float64{0, 0.5} {
		c := countCopies(cam.firstTeeth, crank.turns, shift)
		share := float64(c.single) / float64(c.pitches)
		if c.gaps == 0 && c.pitches >= fewestCopied && share > copiedMost {
			return fmt.Sprintf("the wave follows the crank's: %.0f %% of the crank's teeth have a pulse of their own in it, and without them it has teeth of its own",
				math.Floor(100*share)), true
		}
	}
	return "", false
}

// copies are how pulses lie among the crank's teeth.
type copies struct {
	pitches, single   int // intervals of one pitch; those with one pulse
	gaps, gapsWithout int // longer intervals; those with fewer pulses than pitches
}

// countCopies counts the pulses of each interval between the crank's teeth, moved
// on by a part of a pitch: a pulse may fall together with a tooth.
func countCopies(pulses []float64, turns []crankTurn, shift float64) (c copies) {
	i := 0
	for _, t := range turns {
		last := len(t.at) - 1
		pitch := math.Inf(1)
		for j := range last {
			pitch = min(pitch, t.parts[j+1]-t.parts[j])
		}
		by := shift * pitch * (t.at[last] - t.at[0])
		if len(pulses) == 0 || pulses[0] > t.at[0] || pulses[len(pulses)-1] < t.at[last]+by {
			continue
		}
		for j := range last {
			n := 0
			for ; i < len(pulses) && pulses[i] < t.at[j+1]+by; i++ {
				if pulses[i] >= t.at[j]+by {
					n++
				}
			}
			switch long := int(math.Round((t.parts[j+1] - t.parts[j]) / pitch)); {
			case long > 1:
				c.gaps++
				if n < long {
					c.gapsWithout++
				}
			default:
				c.pitches++
				if n == 1 {
					c.single++
				}
			}
		}
	}
	return c
}

// Disown takes from a cam's measurement what it owes to the crank's wave: which way
// round the wires are, its wheel and its readings cannot be told.
func (m *Measurement) Disown(evidence string) {
	var own []captures.Finding
	for _, f := range m.Findings {
		switch f.Kind {
		case "reversed-polarity", "wheel-differs", "wheel-unknown", "wheel-assumed":
		default:
			own = append(own, f)
		}
	}
	m.Findings = append(own, captures.Finding{
		Kind: "cross-talk", Severity: captures.Problem, Text: evidence,
		Advice: "part the two sensors' wires, or use screened ones, earthed at one end, and record again",
	})
	m.Polarity, m.PolarityWhy = Unknown, evidence
	m.Wheel, m.WheelWhy = captures.Wheel{}, evidence
	m.Readings, m.RevolutionList, m.Revolutions, m.Weak, m.Ripple = nil, nil, 0, nil, captures.Maybe{}
}
