package threshold

import (
	"math"

	"armcurve/captures"
)

// How close, relatively, a factor must be to a slip's.
const (
	// slipScatters is that in the scatter of one reading, for the slips that a
	// bend or a bad reading resembles.
	slipScatters = 2
	// farSlip is the same for the powers of ten, which nothing else resembles.
	farSlip = 0.1
)

// unitSlip names the slip of unit or quantity that a factor off suggests, for
// readings of that relative scatter.
func unitSlip(ratio, scatter float64) (what string, ok bool) {
	for _, slip := range []struct {
		factor    float64
		closeness float64
		what      string
	}{
		{10, farSlip, "a ×10 probe on a channel left at ×1, undone twice, or a slipped decimal point"},
		{0.1, farSlip, "a ×10 probe on a channel left at ×1"},
		{1000, farSlip, "millivolts given as volts"},
		{0.001, farSlip, "volts given as millivolts"},
		{2, slipScatters * scatter, "a peak-to-peak value given as the peak"},
		{0.5, slipScatters * scatter, "half of the peak, as if it had been halved as a peak-to-peak value"},
	} {
		if math.Abs(math.Log(ratio/slip.factor)) < slip.closeness {
			return slip.what, true
		}
	}
	return "", false
}

func (o outlier) isSlip() bool {
	_, ok := o.slip()
	return ok
}

func (o outlier) slip() (what string, ok bool) { return unitSlip(o.ratio(), o.scatter) }

// slipReadings is the number of readings above which the others tell a slip
// from a bend without knowing the factors that slips make.
const slipReadings = 12

// loneSlip finds, among few readings, the one without which a printable shape
// fits all others, and which is off it by a factor that slips make; of several
// the one that leaves the best fit.
func loneSlip(p points, o Options) (slip outlier, ok bool, err error) {
	if len(p.readings) > slipReadings {
		return outlier{}, false, nil
	}
	least := goodScatters * o.ReadingScatter
	for i, r := range p.readings {
		rest := p.without(p.only(r))
		if rest.speeds < leastSpeeds {
			continue
		}
		for _, s := range printable {
			f, err := s.fit(rest)
			if err != nil {
				return outlier{}, false, err
			}
			if x := (outlier{r, math.Exp(f.curve.lnAt(p.speed[i])), o.ReadingScatter}); f.scatter <= least && x.isSlip() {
				slip, ok, least = x, true, f.scatter
			}
		}
	}
	return slip, ok, nil
}

// only marks one reading.
func (p points) only(reading captures.Reading) []bool {
	marked := make([]bool, len(p.readings))
	for i, r := range p.readings {
		marked[i] = r == reading
	}
	return marked
}
