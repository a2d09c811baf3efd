package threshold

import (
	"fmt"
	"math"

	"armcurve/captures"
)

// clips are the clipped readings above the highest speed of the curve, by rising
// speed. Their peaks are higher than what was read, by nobody knows how much: they
// stay out of the fit, but hold up the lower bound.
type clips []captures.Reading

// newClips takes the clipped readings above a speed from readings in order of
// speed.
func newClips(readings []captures.Reading, aboveRPM float64) clips {
	var list clips
	for _, r := range readings {
		if r.Clipped && r.PeakV.Known && r.PeakV.Value > 0 && r.RPM > aboveRPM {
			list = append(list, r)
		}
	}
	return list
}

// floor is the ln V that the amplitude keeps above at a speed, where lnLow is the
// lower bound without the clipped readings and spread how far one reading may be
// off. Amplitude rises and may fall again, but does not dip: between two speeds
// it is no lower than at the lower of them. Above the last it falls no more than
// the lower bound does.
func (list clips) floor(n speed, highestRPM, spread float64, lnLow func(speed) float64) float64 {
	highest := speedAt(highestRPM)
	fallsTo, left, right := math.Inf(-1), lnLow(highest), math.Inf(-1)
	for _, r := range list {
		at, lnV := speedAt(r.RPM), math.Log(r.PeakV.Value)-spread
		if at.rpm >= n.rpm {
			right = math.Max(right, lnV)
		}
		if at.rpm <= n.rpm {
			left = math.Max(left, lnV)
			fallsTo = math.Max(fallsTo, lnV+math.Min(0, lnLow(n)-lnLow(at)))
		}
	}
	return math.Max(fallsTo, math.Min(left, right))
}

// remark ends the sentence that tells of amplitude beyond the readings.
func (list clips) remark() string {
	if len(list) == 0 {
		return ""
	}
	return ", but no lower than the clipped readings show"
}

// clippedFindings tell of clipped readings: of all that agree with the curve in
// one, and of all that are above it.
func (s *Sensor) clippedFindings() []captures.Finding {
	var agree, above []captures.Finding
	for _, r := range s.readings {
		if !r.Clipped || !r.PeakV.Known {
			continue
		}
		f := captures.Finding{
			Kind: Clipped, Severity: captures.Warning, FromRPM: captures.Some(r.RPM), ToRPM: captures.Some(r.RPM),
			Text:   fmt.Sprintf("%s is clipped at %s V: the peak is higher, so it is left out of the curve", r.Pos, volts(r.PeakV.Value)),
			Advice: "choose a larger range or a ×10 probe and measure this speed again",
		}
		if e := s.Curve.At(r.RPM); r.PeakV.Value > e.HighV {
			f.Severity = captures.Problem
			f.Text = fmt.Sprintf("%s is clipped at %s V, already above the %s V that the other readings allow there", r.Pos, volts(r.PeakV.Value), volts(e.HighV))
			above = append(above, f)
			continue
		}
		agree = append(agree, f)
	}
	return append(together(above), together(agree)...)
}

// together makes one finding of all that say the same of several speeds, with the
// words of the first.
func together(list []captures.Finding) []captures.Finding {
	if len(list) < 2 {
		return list
	}
	f, last := list[0], list[len(list)-1]
	f.ToRPM = last.ToRPM
	f.Text += fmt.Sprintf("; so are %d more, %s", len(list)-1, speedRange(f.FromRPM.Value, f.ToRPM.Value))
	f.Advice = "choose a larger range or a ×10 probe and measure these speeds again"
	return []captures.Finding{f}
}
