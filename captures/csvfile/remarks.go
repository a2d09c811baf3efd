package csvfile

import (
	"fmt"
	"strings"

	"armcurve/captures"
)

// Distinct leaves out readings that repeat an earlier one in everything but
// their place, as a line copied twice does, and tells of each. It may be
// applied to the readings of several files together.
func Distinct(readings []captures.Reading) ([]captures.Reading, []captures.Finding) {
	var distinct []captures.Reading
	var findings []captures.Finding
	first := map[captures.Reading]captures.Pos{}
	for _, reading := range readings {
		told := reading
		told.Pos = captures.Pos{}
		if pos, found := first[told]; found {
			findings = append(findings, captures.Finding{
				Kind: "duplicate", Severity: captures.Note,
				FromRPM: captures.Some(reading.RPM), ToRPM: captures.Some(reading.RPM),
				Text:   fmt.Sprintf("%s is the same as %s and was counted once", reading.Pos, pos),
				Advice: "if it was measured twice, tell the lines apart by their note",
			})
			continue
		}
		first[told] = reading.Pos
		distinct = append(distinct, reading)
	}
	return distinct, findings
}

// unordered tells of the first line of each sensor and condition whose speed
// turns back, and so may be mistyped. Lines without a peak are left out:
// standstill is often written last.
func unordered(readings []captures.Reading) []captures.Finding {
	type group struct{ sensor, condition string }
	type course struct {
		last      captures.Reading
		direction float64
		told      bool
	}
	courses := map[group]*course{}
	var findings []captures.Finding
	for _, reading := range readings {
		if !reading.PeakV.Known {
			continue
		}
		key := group{reading.Sensor, reading.Condition}
		c := courses[key]
		if c == nil {
			courses[key] = &course{last: reading}
			continue
		}
		step := reading.RPM - c.last.RPM
		if step*c.direction < 0 && !c.told {
			c.told = true
			findings = append(findings, turn(c.last, reading))
		}
		if c.direction == 0 {
			c.direction = step
		}
		c.last = reading
	}
	return findings
}

func turn(before, after captures.Reading) captures.Finding {
	way := "down"
	if after.RPM > before.RPM {
		way = "up"
	}
	return captures.Finding{
		Kind: "unordered", Severity: captures.Note,
		FromRPM: captures.Some(min(before.RPM, after.RPM)), ToRPM: captures.Some(max(before.RPM, after.RPM)),
		Text:   fmt.Sprintf("the speeds are not in order: at %s they turn %s, from %g to %g rpm", after.Pos, way, before.RPM, after.RPM),
		Advice: "the order does not matter; check that the speed is not mistyped",
	}
}

// doubtfulNoise tells of noise figures that no instrument shows.
func doubtfulNoise(readings []captures.Reading) []captures.Finding {
	var zero, inverted []string
	for _, r := range readings {
		if r.NoiseV == captures.Some(0) || r.NoiseRMSV == captures.Some(0) {
			zero = append(zero, r.Pos.String())
		}
		if r.NoiseV.Known && r.NoiseRMSV.Known && above(r.NoiseRMSV.Value, r.NoiseV.Value) {
			inverted = append(inverted, r.Pos.String())
		}
	}
	var findings []captures.Finding
	if zero != nil {
		findings = append(findings, captures.Finding{
			Kind: "zero-noise", Severity: captures.Warning,
			Text:   "the noise is given as 0 V, which no input is free of: " + strings.Join(zero, ", "),
			Advice: "leave the cell empty where noise was not measured; else measure it on a finer range",
		})
	}
	if inverted != nil {
		findings = append(findings, captures.Finding{
			Kind: "contradictory-noise", Severity: captures.Warning,
			Text:   "noise_rms_v is above noise_v, the largest seen: " + strings.Join(inverted, ", "),
			Advice: "check which of the two was read, and their units",
		})
	}
	return findings
}
