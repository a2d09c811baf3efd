package teeth

import (
	"fmt"
	"math"

	"armcurve/captures"
	"armcurve/captures/teeth/rims"
	"armcurve/captures/teeth/wheels"
)

const (
	runOutNote  = 0.03 // of the mean peak
	runOutWarn  = 0.10
	shortSurely = 4    // standard deviations, beyond which noise makes no one of a wheel's teeth short
	shortShare  = 0.88 // of what the run-out leaves makes a tooth short
	lobeShare   = 1.25 // at which a comparator that follows the last peak begins to miss
)

// toothFindings speak of the wheel.
func (r *run) toothFindings() {
	p := r.numberer.Pattern
	weak := r.m.Weak
	if len(weak) != len(p.Parts) || len(weak) == 0 || r.m.Revolutions < 2 || !r.gatherer.calm {
		return
	}
	rim := rimOf(p, weak)
	r.runOutFinding(rim)
	lobe := 0.0
	for j, level := range weak {
		if p.AfterGap(j) && len(weak) > 1 {
			lobe = max(lobe, level)
		}
		chance := shortSurely * math.Sqrt(r.gatherer.scatter.mean/max(1, r.gatherer.gains[j].n))
		if rim.Short[j] && level+chance < shortShare*rim.Swing[j] {
			r.find("short-tooth", captures.Warning, 0, 0,
				fmt.Sprintf("tooth %d gives %.0f %% of the mean peak", j+1, 100*level), "look at that tooth: damaged, bent or dirty")
		}
	}
	if lobe > lobeShare {
		r.find("gap-lobe", captures.Note, 0, 0,
			fmt.Sprintf("the first tooth after a gap is %.2f times as high as the others", lobe),
			"an input whose threshold follows the last peak may miss the tooth behind it")
	}
}

// rimOf holds the teeth's levels against each other.
func rimOf(p *wheels.Pattern, level []float64) *rims.Rim {
	n := len(level)
	places, beside := make([]float64, n), make([]bool, n)
	turned := 0.0
	for j, part := range p.Parts {
		places[j] = turned
		turned += part
		beside[j] = n > 1 && (p.AfterGap(j) || p.AfterGap((j+1)%n))
	}
	return rims.Of(level, places, beside)
}

// runOutFinding speaks of heights that swing around the turn.
func (r *run) runOutFinding(rim *rims.Rim) {
	if rim.Amount <= runOutNote {
		return
	}
	severity := captures.Note
	if rim.Amount > runOutWarn {
		severity = captures.Warning
	}
	often, advice := "", "check that the wheel runs true and the gap is not too wide"
	if rim.Twice {
		often, advice = "twice ", "measure the wheel's rim with a gauge while the engine is turned over by hand: an oval or a bent one has to be changed or trued"
	}
	r.find("run-out", severity, 0, 0,
		fmt.Sprintf("the tooth peaks swing by ±%.0f %% %sover the wheel's turn, highest %.0f° of the wheel after tooth 1", 100*rim.Amount, often, 360*rim.Highest), advice)
}
