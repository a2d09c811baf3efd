package teeth

import (
	"math"
	"slices"

	"armcurve/captures/teeth/median"
)

// scale is what is known of pulses before the first is found.
type scale struct {
	width float64 // half the length of a pulse that the filter wants, samples
	flux  float64 // what the filter gives at a tooth, volts times samples
	restV float64 // mean between the first and the last tooth
	first int     // samples before the first pulse
}

// findScale looks for the length of pulses in the samples from index from to
// the end of the sums. The filter's output for white noise has a variance that
// grows as its width, for a wave it has a maximum where the width fits; so the
// quotient of the two shows the wave. The one that was known before is looked for first.
func (w *window) findScale(from int, known scale) (scale, bool) {
	n := len(w.sum) - 1 - from
	var widths, power []float64
	for width := 1.5; width < float64(n)/8; width *= 1.25 {
		k := int(math.Round(width))
		if len(widths) > 0 && float64(k) == widths[len(widths)-1] {
			continue
		}
		widths = append(widths, float64(k))
		power = append(power, w.filterPower(from, k))
	}
	best := w.asBefore(from, widths, power, known)
	if best < 0 {
		best = ofSingleTeeth(widths, power)
	}
	if best < 0 || best >= len(power)-2 || power[best] <= 0 {
		return scale{}, false
	}
	s := scale{width: widths[best]}
	w.typicalFlux(from, int(s.width), &s)
	for slower := 2; slower <= slowest; slower *= 2 {
		s.first = w.soonest(from, s.first, slower*int(s.width), s.flux/2)
	}
	return s, standsOut(widths, power, best)
}

// asBefore is the index of the width of a wave known before, if there is one about as fast
// with pulses as strong; −1 of none. What else is there may be stronger, as where a loose
// contact holds the wave at some voltage, but a tooth's flux is the same at any speed.
func (w *window) asBefore(from int, widths, power []float64, known scale) int {
	const about = 2 // times as fast, and as strong
	for i := 1; i+2 < len(power); i++ {
		if !within(widths[i], known.width, about) || power[i] < power[i-1] || power[i] < power[i+1] {
			continue
		}
		s := scale{width: widths[i]}
		w.typicalFlux(from, int(s.width), &s)
		if within(s.flux, known.flux, about) && standsOut(widths, power, i) {
			return i
		}
	}
	return -1
}

// A lone tooth between two gaps, with the ends of the rows beside, makes a slower wave,
// about as strong as that of the teeth in the rows. Hum makes one that may be stronger, as
// it is slow, though it is less high than the teeth.
const (
	gapTimes    = 2   // times as slow, at least: two pitches where one tooth is missing
	aboutStrong = 0.7 // of the power at the width that shows most
	humTimes    = 3   // times as slow, at least, of hum: compressions make some teeth slower than others
	humStrong   = 0.1 // of that power, at least, beside hum
	higher      = 1.5 // times as high, squared
)

// ofSingleTeeth is the index of the width of the teeth themselves: of the widths that
// show a wave about as well the narrowest, where others are those of gaps or of hum; −1 of
// none.
func ofSingleTeeth(widths, power []float64) int {
	best := -1
	for i := range power {
		if best < 0 || power[i] > power[best] {
			best = i
		}
	}
	for i := 1; i < best && gapTimes*widths[i] <= widths[best]; i++ {
		least := aboutStrong
		if standsOverHum(widths, power, i, best) {
			least = humStrong
		}
		if power[i] > least*power[best] && power[i] > power[i-1] && power[i] >= power[i+1] {
			return i
		}
	}
	return best
}

// standsOverHum tells that the wave that a width shows is higher than the one that shows
// most, which is much slower and no drift, and stands out of noise itself.
func standsOverHum(widths, power []float64, i, best int) bool {
	isSlow := humTimes*widths[i] <= widths[best] && best < len(power)-2
	return isSlow && power[i]/widths[i] > higher*power[best]/widths[best] && power[i] > clearly*slices.Min(power[:i])
}

// slowest is how many times as long the first pulses may be as the usual ones, those
// of an engine that speeds up.
const slowest = 8

// soonest is the first place before another where the filter of a width gives so
// much; the other if there is none.
func (w *window) soonest(from, before, k int, flux float64) int {
	s := w.sum[from:]
	for i := k; i < before && i+k < len(s); i += max(1, k/8) {
		if 2*s[i]-s[i-k]-s[i+k] > flux {
			return i
		}
	}
	return before
}

// clearly is more than chance makes of noise in a few widths; a wave in noise of
// a fifth of its peak gives some fifty.
const clearly = 6

// standsOut tells a wave from white noise, which gives the same at every width:
// a wave gives several times more at its own than at short ones, or where it
// has few samples, than at long ones.
func standsOut(widths, power []float64, best int) bool {
	var long []float64
	for i, width := range widths {
		if width > 3*widths[best] && width < 15*widths[best] {
			long = append(long, power[i])
		}
	}
	return power[best] > clearly*slices.Min(power[:best+1]) || power[best] > clearly*median.Of(long)
}

// filterPower is the mean square of the filter's output over its width.
func (w *window) filterPower(from, k int) float64 { return filterPower(w.sum[from:], k) }

func filterPower(s []float64, k int) float64 {
	step := max(1, k/4)
	sum, sum2, count := 0.0, 0.0, 0
	for i := k; i+k < len(s); i += step {
		f := 2*s[i] - s[i-k] - s[i+k]
		sum += f
		sum2 += f * f
		count++
	}
	if count == 0 {
		return 0
	}
	mean := sum / float64(count)
	return (sum2/float64(count) - mean*mean) / float64(k)
}

// outruns tells that about a pulse the wave swings much faster than the pulse is
// long: an engine was taken up when it hardly turned, and has run away.
func (w *window) outruns(p pulse) bool {
	const reach, more, narrowest = 8, 2, 4
	k := int(p.width)
	to := min(int(p.at)-int(w.first)+2*k, len(w.sum))
	from := max(0, to-reach*k)
	if to-from < 4*k {
		return false
	}
	s := w.sum[from:to]
	own := filterPower(s, k)
	for k /= 3; k >= narrowest; k /= 2 {
		if filterPower(s, k) > more*own {
			return true
		}
	}
	return false
}

// earliest follows the pulses back from one at a position, as far as they come
// within reach of each other: a wheel that runs out may begin on its weak side.
func earliest(fluxes []float64, at []int, from, reach int) int {
	flux := 0.0
	for i := len(at) - 1; i >= 0 && at[i] >= from-reach; i-- {
		switch {
		case at[i] > from:
		case flux == 0:
			flux = fluxes[i]
		case fluxes[i] > toothShare*flux:
			flux += fluxGain * (fluxes[i] - flux)
			from = at[i]
		}
	}
	return from
}

// typicalFlux takes the median of the filter's maxima that are at least half as
// high as the upper ones, where the first of the pulses is that lead up to them, and
// the mean of the wave between their first and their last.
func (w *window) typicalFlux(from, k int, found *scale) {
	s := w.sum[from:]
	step := max(1, k/8)
	var maxima []float64
	var at []int
	a, b := math.Inf(1), math.Inf(1)
	for i := k; i+k < len(s); i += step {
		f := 2*s[i] - s[i-k] - s[i+k]
		if b > a && b >= f && b > 0 {
			maxima, at = append(maxima, b), append(at, i-step)
		}
		a, b = b, f
	}
	if len(maxima) == 0 {
		return
	}
	sorted := slices.Sorted(slices.Values(maxima))
	// Most maxima may be noise where pulses stand far apart.
	high := max(sorted[len(sorted)*95/100], sorted[len(sorted)-1]/2)
	cut, _ := slices.BinarySearch(sorted, high/2)
	first, last := -1, -1
	for i, f := range maxima {
		if f >= high/2 {
			if first < 0 {
				first = at[i]
			}
			last = at[i]
		}
	}
	found.first, found.restV = earliest(maxima, at, first, waitWidths*k), w.rest
	if last > first {
		found.restV = (s[last]-s[first])/float64(last-first) + w.base
	}
	found.flux = sorted[(cut+len(sorted)-1)/2]
}
