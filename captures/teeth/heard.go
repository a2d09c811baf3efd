package teeth

import (
	"slices"

	"armcurve/captures"
	"armcurve/captures/teeth/noise"
)

// heard is the noise at the speed of a bin.
type heard struct {
	noise.Level
	toneV captures.Maybe
	ok    bool
}

// heardAt is the noise at each bin; judged also by the least at nearly the same speed,
// where about as much was compared.
func heardAt(all []*bin) []heard {
	const near, asMuch = 1.05, 2 // times the speed; the samples
	own := make([]heard, len(all))
	for i, b := range all {
		own[i].Level, own[i].toneV, own[i].ok = b.noise.Level()
	}
	best := slices.Clone(own)
	for i, b := range all {
		least := i
		for j, o := range all {
			isNear := within(o.rpmMean(), b.rpmMean(), near) && asMuch*o.noise.Samples() > b.noise.Samples()
			if own[j].ok && isNear && own[j].SigmaV < own[least].SigmaV {
				least = j
			}
		}
		if own[i].ok && !own[i].toneV.Known && least != i {
			o := &own[least]
			best[i].Level = b.noise.Beside(own[i].Level, &all[least].noise, o.Level, o.toneV.Value)
		}
	}
	return best
}
