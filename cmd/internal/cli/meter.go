package cli

import (
	"fmt"

	"armcurve/captures"
	"armcurve/cmd/internal/setup"
)

// fewTeeth is the least number of teeth at which a meter's rms value still says
// something of the peak: with fewer the signal is short pulses far apart, and
// nothing like the sine that the factor √2 stands for. Common practice.
const fewTeeth = 8

// meterDoubt judges peaks that were computed from rms values, as an ordinary
// meter shows them. It refuses them for a wheel of few teeth.
func meterDoubt(readings []captures.Reading, sensor *setup.Sensor) ([]captures.Finding, error) {
	var list []captures.Reading
	for _, r := range readings {
		if r.PeakV.Known && r.ReadAs == captures.RMS {
			list = append(list, r)
		}
	}
	if len(list) == 0 {
		return nil, nil
	}
	if teeth := sensor.Wheel.TeethPresent(); sensor.Wheel.Known() && teeth < fewTeeth {
		return nil, hint(fmt.Errorf("%s: rms values of a wheel with %d teeth; want peaks: short pulses far apart are no sine, so their peak does not follow from rms", list[0].Pos, teeth),
			"read peak_v or peak_to_peak_v with an oscilloscope")
	}
	return []captures.Finding{meterFinding(list, sensor)}, nil
}

func meterFinding(readings []captures.Reading, sensor *setup.Sensor) captures.Finding {
	low, high := readings[0].RPM, readings[0].RPM
	for _, r := range readings {
		low, high = min(low, r.RPM), max(high, r.RPM)
	}
	f := captures.Finding{
		Kind: "meter-doubt", Severity: captures.Warning, FromRPM: captures.Some(low), ToRPM: captures.Some(high),
		Text:   "the peaks come from rms values: a meter takes every signal for a sine and reads low where it is too fast for it",
		Advice: "read one speed with an oscilloscope too, and compare; look up in the meter's manual up to which frequency it reads AC volts",
	}
	if hz := toothHz(sensor, high); hz > 0 {
		f.Text += fmt.Sprintf(" (at %.0f rpm %.0f teeth pass in a second)", high, hz)
	}
	return f
}

// toothHz is the frequency of the teeth at a speed, missing ones counted; 0
// where the wheel is not stated.
func toothHz(sensor *setup.Sensor, rpm float64) float64 {
	teeth := float64(max(sensor.Wheel.Pitches, len(sensor.Wheel.AnglesDeg)))
	if sensor.Shaft == captures.Cam {
		teeth /= 2
	}
	return teeth * rpm / 60
}
