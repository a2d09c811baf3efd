package replay

import (
	"math"
	"slices"
)

const (
	flatSamples = 64   // of the top that are looked at
	fewestFlat  = 6    // of them
	flatRatio   = 0.95 // of the upper quartile that the middle of the top reaches
)

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
		topV, is = flatLevel(v[from:to+1], restV)
		return topV - restV, is
	}
	return 0, false
}

// flatLevel is the level at which an arch stands, and whether it does. Of a round top,
// seen above half of its height, the middle sample by height reaches 0.90 of the upper
// quartile (of a sine: cos 30° and cos 15°). Of one that is cut off, both are where it
// is cut off: whether a clamp lets a little more through or noise came on top
// moves them hardly apart.
func flatLevel(v []float64, restV float64) (levelV float64, is bool) {
	highestV := slices.Max(v)
	if !(highestV > restV) { // behind the filter alone there was an arch
		return 0, false
	}
	half := restV + (highestV-restV)/2
	first := slices.IndexFunc(v, func(x float64) bool { return x > half })
	last := len(v) - 1
	for last > first && v[last] <= half {
		last--
	}
	top := v[first : last+1]
	step := 1 + (len(top)-1)/flatSamples
	some := make([]float64, 0, flatSamples)
	for i := 0; i < len(top); i += step {
		some = append(some, top[i])
	}
	slices.Sort(some)
	n := len(some)
	levelV = some[n/2]
	return levelV, n >= fewestFlat && levelV-restV >= flatRatio*(some[n-1-n/4]-restV)
}
