package threshold

import "math"

// unitCloseness is how close, relatively, a factor must be to a slip's.
const unitCloseness = 0.1

// unitSlip names the slip of unit or quantity that a factor off suggests.
func unitSlip(ratio float64) (what string, ok bool) {
	for _, slip := range []struct {
		factor float64
		what   string
	}{
		{10, "a ×10 probe on a channel left at ×1, undone twice, or a slipped decimal point"},
		{0.1, "a ×10 probe on a channel left at ×1"},
		{1000, "millivolts given as volts"},
		{0.001, "volts given as millivolts"},
		{2, "a peak-to-peak value given as the peak"},
		{0.5, "half of the peak, as if it had been halved as a peak-to-peak value"},
	} {
		if math.Abs(math.Log(ratio/slip.factor)) < unitCloseness {
			return slip.what, true
		}
	}
	return "", false
}

func (o outlier) isSlip() bool {
	_, ok := unitSlip(o.ratio())
	return ok
}
