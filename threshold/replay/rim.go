package replay

import "armcurve/captures/teeth/rims"

// rim is how high the teeth of the wheel rise beside each other.
type rim struct{ *rims.Rim }

func rimOf(slots []slot, places []float64) *rim {
	n := len(slots)
	level, beside := make([]float64, n), make([]bool, n)
	for k := range slots {
		level[k] = slots[k].mean()
		beside[k] = slots[k].isAfterGap() || slots[(k+1)%n].isAfterGap()
	}
	return &rim{rims.Of(level, places, beside)}
}

// of is a tooth's place on the rim; ok is false for a number it has not.
func (r *rim) of(f *fault) (k int, ok bool) {
	k = int(f.tooth) - 1
	return k, k >= 0 && k < len(r.Level) && r.Level[k] > 0
}

// cured tells that a missed tooth would have passed the threshold if it rose by
// 1/share.
func cured(f *fault, share float64) bool {
	return !f.is(isFalse|isUnseen) && share > 0 && share < 1 && float64(f.heightV)/share > float64(f.thresholdV)
}
