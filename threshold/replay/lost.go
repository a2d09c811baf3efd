package replay

import (
	"math"

	"armcurve/captures"
)

const (
	mostLostTurns = 100
	speedsAlike   = 1.4 // ratio of the speeds before and after a loss
)

// lost are the teeth that must have passed between the last one and another,
// though neither the wave nor its reader has them: after a dropout the count
// begins anew. None where the engine may have stood still.
func (r *Replay) lost(next tooth) []tooth {
	n := r.past.turn
	if r.last == nil || r.last.number == 0 || next.Number == 0 || n == 0 {
		return nil
	}
	from, to := r.place(r.last.number), r.place(next.Number)
	turn := math.Mod(to-from+1, 1)
	if r.last.number == next.Number {
		turn = 1
	}
	length := next.at - r.last.at
	before, after := r.turnRPM(r.last.rpm), r.rpm(next.RPM)
	if !(before > r.o.crankingTopRPM() && after > r.o.crankingTopRPM() && max(before, after) < speedsAlike*min(before, after)) {
		return nil
	}
	rpm := math.Sqrt(before * after)
	turn, ok := wholeTurns(turn, length*r.info.StepS/60/r.o.turnsPerWheel(), []float64{rpm, before, after})
	if !ok || turn*float64(n) > length { // less than a sample for each
		return nil
	}
	var list []tooth
	done := 0.0
	for number := r.last.number; ; {
		following := number%n + 1
		done += math.Mod(r.place(following)-r.place(number)+1, 1)
		if n == 1 {
			done = math.Floor(done) + 1
		}
		if number = following; done > turn-0.5/float64(n) {
			return list
		}
		list = append(list, tooth{
			Tooth: captures.Tooth{Number: number, PeakV: math.NaN(), RPM: rpm},
			at:    r.last.at + length*done/turn, restV: next.restV,
		})
	}
}

// wholeTurns adds whole turns to a part of one, so that it comes nearest to what
// one of some speeds makes of a time in minutes.
func wholeTurns(part, minutes float64, speedsRPM []float64) (turn float64, ok bool) {
	off := math.Inf(1)
	for _, rpm := range speedsRPM {
		turned := minutes * rpm
		with := part + max(0, math.Round(turned-part))
		if d := math.Abs(math.Log(turned / with)); d < off {
			off, turn = d, with
		}
	}
	return turn, turn <= mostLostTurns && off < 0.25
}

// place is where a tooth is on the wheel, in turns from tooth 1: on the one that the
// first teeth showed, or the one stated; evenly spread where that is not known.
func (r *Replay) place(number int) float64 {
	if r.laidOut.Known() {
		return r.placeOn(r.laidOut, number)
	}
	return r.placeOn(r.o.Wheel, number)
}

// placeOn is where a tooth is on a wheel, in turns from tooth 1; evenly spread
// where the wheel is not known.
func (r *Replay) placeOn(w captures.Wheel, number int) float64 {
	switch k := number - 1; {
	case k < len(w.Positions):
		return float64(w.Positions[k]) / float64(w.Pitches)
	case k < len(w.AnglesDeg):
		return (w.AnglesDeg[k] - w.AnglesDeg[0]) / (360 * r.o.turnsPerWheel())
	}
	return float64(number-1) / float64(r.past.turn)
}
