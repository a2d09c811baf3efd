package replay

import (
	"math"

	"armcurve/captures/teeth/tops"
)

const (
	topPlaces     = 64 // looked at of an arch
	fewestOfATop  = 12 // samples of an arch that show its shape
	lobesTogether = 6  // that do so where each has fewer
)

// pooledTop is what the tops of several arches tell of them and of as many behind.
type pooledTop struct {
	until   float64 // position
	heightV float64
	isFlat  bool
}

// flatTop is how high the wave as it was recorded stands in a tooth's arch, if it
// stands there for longer than a round top would. Of few samples, those before it are
// looked at as well: they are taken at other places of their tops.
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
		if to-from >= fewestOfATop {
			return tops.Of(v[from:to+1], restV, 1, topPlaces)
		}
		if t.at > r.top.until {
			from = max(0, to-int64(lobesTogether*t.pitch))
			r.top.until = t.at + lobesTogether*t.pitch
			r.top.heightV, r.top.isFlat = tops.Of(v[from:to+1], restV, 1, 2*topPlaces)
		}
		return r.top.heightV, r.top.isFlat
	}
	return 0, false
}
