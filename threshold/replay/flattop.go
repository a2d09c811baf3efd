package replay

import (
	"math"

	"armcurve/captures/teeth/tops"
)

// topPlaces are looked at of an arch.
const topPlaces = 64

// flatTop is how high the wave as it was recorded stands in a tooth's arch, if it
// stands there for longer than a round top would.
func (r *Replay) flatTop(t *passed) (topV float64, is bool) {
	for _, a := range r.arches {
		if a.height != t.height || math.Abs(a.fall-t.at) > reachPitches*t.pitch {
			continue
		}
		p := &r.past
		v, restV := p.v, 0.0
		if r.filter != nil {
			v, restV = p.raw, r.lastRestV
		}
		from, to := a.start-p.first, int64(a.fall)-p.first
		if from < 0 || to >= int64(len(v)) || to <= from {
			return 0, false
		}
		return tops.Of(v[from:to+1], restV, 1, topPlaces)
	}
	return 0, false
}
