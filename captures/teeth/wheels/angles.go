package wheels

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"armcurve/captures"
	"armcurve/captures/teeth/median"
	"armcurve/captures/teeth/pulses"
)

// findAngles finds a short order of uneven intervals that comes again and again;
// nil where there is none. Angles count from the tooth after the longest
// interval. An engine that slows down at compression makes uneven times too,
// but with lobes that are lower as the times are longer.
func findAngles(marks []pulses.Mark, spanDeg float64) *Pattern {
	samples := NewIntervals(marks).Lengths
	byLobe := lobeAngles(marks, samples)
	for n := 2; n <= longestOrder && 3*n <= len(samples); n++ {
		if recurs(samples, n) < 0.9 {
			continue
		}
		angles, lengths := BySlot(partsOfTurn(byLobe, n), n), BySlot(partsOfTurn(samples, n), n)
		if slices.Max(angles) > 1.25*slices.Min(angles) && bearsOut(angles, lengths) && atSteadySpeed(marks, lengths) {
			return layAngles(lengths, spanDeg)
		}
		return nil
	}
	return nil
}

// What the lobes may contradict of uneven lengths, as logarithms: a part of their variance,
// and a standard deviation, that of teeth which differ by a tenth. By as much the angles may
// be off where it was the speed that differed.
const (
	borneOut  = 0.3
	asTeethDo = 0.085
)

// bearsOut tells that the lobes bear out uneven lengths: of teeth alike at a steady
// speed the angles by the lobes are the lengths themselves. Where the two differ
// nearly as much as the lengths among themselves, the lobes or the lengths are uneven
// for another reason: teeth that are not alike, compressions.
func bearsOut(angles, lengths []float64) bool {
	var own, between []float64
	for j := range lengths {
		own = append(own, math.Log(lengths[j]))
		between = append(between, math.Log(angles[j]/lengths[j]))
	}
	return stat.PopVariance(between, nil) < min(borneOut*stat.PopVariance(own, nil), asTeethDo*asTeethDo)
}

// atSteadySpeed tells that from tooth to tooth the pulses' widths, which follow the
// speed whatever the coil does, differ by less than the lengths of the intervals.
func atSteadySpeed(marks []pulses.Mark, lengths []float64) bool {
	var widths []float64
	for i := range marks {
		widths = append(widths, marks[i].Own)
	}
	widths = BySlot(widths, len(lengths))
	return stat.PopVariance(logarithms(widths), nil) < stat.PopVariance(logarithms(lengths), nil)
}

// partsOfTurn gives each interval as a part of a turn of n: of the one that
// begins with it and the one that ends with it, whose speeds together are that
// in its own middle where the speed changes evenly. The intervals at either end
// take the turn that there is.
func partsOfTurn(samples []float64, n int) []float64 {
	turns := make([]float64, len(samples)-n+1) // lengths, by the first interval
	for i := range turns {
		for _, length := range samples[i : i+n] {
			turns[i] += length
		}
	}
	parts := make([]float64, len(samples))
	for i, length := range samples {
		begun, ended := turns[min(i, len(turns)-1)], turns[max(0, i-n+1)]
		parts[i] = length * (1/begun + 1/ended) / 2
	}
	return parts
}

// BySlot is the median of every n-th value, for each of n places.
func BySlot(x []float64, n int) []float64 {
	medians := make([]float64, n)
	for j := range n {
		var same []float64
		for i := j; i < len(x); i += n {
			same = append(same, x[i])
		}
		medians[j] = median.Of(same)
	}
	return medians
}

// layAngles makes a wheel of the lengths of its intervals.
func layAngles(lengths []float64, spanDeg float64) *Pattern {
	longest, total := 0, 0.0
	for j, length := range lengths {
		total += length
		if length > lengths[longest] {
			longest = j
		}
	}
	var w captures.Wheel
	turned := 0.0
	for j := range lengths {
		w.AnglesDeg = append(w.AnglesDeg, math.Round(10*spanDeg*turned/total)/10)
		turned += lengths[(longest+1+j)%len(lengths)]
	}
	return anglesPattern(w, spanDeg)
}

// Evenness is the part of the intervals that a whole number of pitches
// explains, or that come again in a short order.
func Evenness(marks []pulses.Mark) float64 {
	in := NewIntervals(marks)
	even := 0
	for _, p := range in.Pitches {
		if k := math.Round(p); k >= 1 && math.Abs(math.Log(p/k)) < 0.2 {
			even++
		}
	}
	return max(float64(even)/float64(len(in.Pitches)), recurrence(in.Lengths))
}

const longestOrder = 16 // teeth on a wheel of uneven ones

// recurrence is the part of the intervals that come again after the same number
// of teeth, for the best number of teeth; 0 where too few are there to tell.
func recurrence(samples []float64) float64 {
	best := 0.0
	for n := 2; n <= longestOrder && 3*n <= len(samples); n++ {
		best = max(best, recurs(samples, n))
	}
	return best
}

func recurs(samples []float64, n int) float64 {
	same := 0
	for i := 0; i+n < len(samples); i++ {
		if math.Abs(math.Log(samples[i+n]/samples[i])) < 0.12 {
			same++
		}
	}
	return float64(same) / float64(len(samples)-n)
}
