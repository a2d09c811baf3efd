package setup

import (
	"fmt"

	"armcurve/captures"
	"armcurve/threshold"
)

// Group is a group of settings that a command may offer as flags.
type Group string

// Input is the group of the sections [crank] and [cam]; the others are named
// as their section.
const (
	Input   Group = "input"
	Engine  Group = "engine"
	Margins Group = "margins"
	Files   Group = "captures"
)

// place is where a setting puts its value.
type place struct {
	*Sensor
	captures *Captures
}

// setting is one thing that can be stated, as a key of the setup file or by a
// flag.
type setting struct {
	group     Group
	key, flag string
	usage     string // for the list of flags, its argument in backquotes
	put       func(place, any) error
	// assumed says in plain words what is taken where nothing is stated; nil
	// or "" where nothing is.
	assumed func(Sensor, Captures) string
}

// settings are in the order of the setup file and of what is assumed.
var settings = []setting{
	{Input, "wheel", "wheel", "the `wheel`: 36-1, 60-2, 36-2-2-2, 24, or angles as @0,180,420 (default: found in captures)", putWheel, nil},
	{Input, "shaft", "shaft", "the `shaft` the wheel is on, crank or cam", putShaft,
		func(s Sensor, _ Captures) string { return "wheel on the " + s.Shaft + "shaft" }},
	{Input, "diameter_mm", "diameter-mm", "diameter of the wheel in `mm`",
		positive("180", func(p place, v float64) { p.DiameterMM = captures.Some(v) }), nil},
	{Input, "channel", "channel", "`channel` of the capture by name or number, or of both sensors as crank=A,cam=B", putChannel, nil},
	{Input, "arming_side", "arming-side", "`side` of the rest level that the input arms on, positive or negative (default positive)",
		choice([]string{"positive", "negative"}, func(p place, i int) { p.ArmsNegative = i == 1 }),
		func(Sensor, Captures) string { return "armed on the positive side" }},
	{Input, "counts_on", "counts-on", "what the input `counts` on: fall (through the rest level, once armed) or level (the threshold itself) (default fall)",
		choice([]string{"fall", "level"}, func(p place, i int) { p.CountsOnLevel = i == 1 }),
		func(Sensor, Captures) string {
			return "a tooth counts at its fall through the rest level"
		}},
	{Input, "threshold_min_v", "threshold-min-v", "lowest threshold the controller can store, `volts` (default 0)",
		anyNumber("0.1", func(p place, v float64) { p.Options.Input.MinV = captures.Some(v) }),
		func(Sensor, Captures) string { return "thresholds from 0 V" }},
	{Input, "threshold_max_v", "threshold-max-v", "highest threshold the controller can store, `volts` (default: no limit)",
		anyNumber("5", func(p place, v float64) { p.Options.Input.MaxV = captures.Some(v) }),
		func(Sensor, Captures) string { return "no highest threshold" }},
	{Input, "step_v", "step-v", "step of the thresholds that can be stored, `volts` (default 0.01)",
		anyNumber("0.01", func(p place, v float64) { p.Options.Input.StepV = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("thresholds in steps of %g V", s.Options.Input.StepV)
		}},
	{Input, "between_rows", "between-rows", "`what` the controller does between rows: linear, or step (a row holds up to the next) (default linear)",
		putBetweenRows,
		func(Sensor, Captures) string {
			return "straight lines between rows, flat beyond them"
		}},
	{Input, "speed_from", "speed-from", "`what` the input takes for the speed: the last revolution or the last tooth (default revolution)",
		choice([]string{"revolution", "tooth"}, func(p place, i int) { p.SpeedFromTooth = i == 1 }),
		func(Sensor, Captures) string {
			return "speed from the last whole revolution"
		}},
	{Input, "hysteresis_v", "hysteresis-v", "hysteresis of the input about the rest level, `volts` (default none)",
		anyNumber("0.05", func(p place, v float64) { p.Options.Input.HysteresisV = v }),
		func(Sensor, Captures) string { return "no hysteresis" }},
	{Input, "clamp_v", "clamp-v", "level at which the input holds larger signals, `volts` (default none)",
		anyNumber("5", func(p place, v float64) { p.Options.Input.ClampV = captures.Some(v) }),
		func(Sensor, Captures) string { return "no clamp" }},
	{Input, "filter_hz", "filter-hz", "corner of the input's low-pass filter, `Hz` (default none)",
		positive("20000", func(p place, v float64) { p.FilterHz = captures.Some(v) }),
		func(Sensor, Captures) string { return "no filter" }},
	{Input, "at", "at", "engine `speeds` of the rows, as 0,200,1000,6500 (default: chosen)", putAt, nil},
	{Input, "rows", "rows", "`number` of rows whose speeds are chosen for the most room; auto: as few as reach the targets (default 8, in geometric steps)", putRows,
		func(s Sensor, _ Captures) string {
			if s.Axis.AtRPM != nil {
				return ""
			}
			return fmt.Sprintf("%d rows", s.Axis.Rows)
		}},
	{Input, "axis_step_rpm", "axis-step", "step of the speeds that can be stored, `rpm` (default 100)", putAxisStep,
		func(s Sensor, _ Captures) string {
			if s.Axis.AtRPM != nil {
				return ""
			}
			return fmt.Sprintf("row speeds in steps of %g rpm", s.Axis.StepRPM)
		}},

	{Engine, "cranking_rpm", "cranking-rpm", "`rpm` that the starter turns the engine at, as 200 (then 150 to 200) or 150-220 (default 200)", putCranking,
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("cranking at %g to %g rpm", s.CrankingLowRPM, s.CrankingRPM)
		}},
	{Engine, "cranking_ripple", "cranking-ripple", "`part` of its mean speed that a cranking engine loses at its slowest, 0 to 0.6 (default: measured, else 0.4)",
		anyNumber("0.4", func(p place, v float64) { p.CrankingRipple = captures.Some(v) }),
		func(Sensor, Captures) string {
			return fmt.Sprintf("a cranking engine loses %g of its mean speed at its slowest, where that was not measured", threshold.DefaultRipple)
		}},
	{Engine, "limit_rpm", "limit-rpm", "highest engine speed, `rpm` (default: the highest reading, rounded up to 500)",
		anyNumber("7000", func(p place, v float64) { p.LimitRPM = captures.Some(v) }),
		func(Sensor, Captures) string {
			return "limit: the highest reading, rounded up to 500 rpm"
		}},
	{Engine, "reachable_rpm", "reachable-rpm", "highest `rpm` that can be measured at, without load (default: 0.6 of the limit)",
		anyNumber("4000", func(p place, v float64) { p.ReachableRPM = captures.Some(v) }), nil},

	{Margins, "signal", "signal-margin", "weakest tooth ÷ threshold wanted at speed, `ratio` (default 2)",
		anyNumber("2", func(p place, v float64) { p.Signal = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("weakest tooth wanted at %g × the threshold from 3 × cranking up", s.Signal)
		}},
	{Margins, "signal_cranking", "signal-cranking-margin", "the same up to 1.5 × cranking speed, `ratio` (default 1.5)",
		anyNumber("1.5", func(p place, v float64) { p.SignalCranking = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("at %g × up to 1.5 × cranking", s.SignalCranking)
		}},
	{Margins, "noise", "noise-margin", "threshold ÷ noise wanted, `ratio` (default 1.25)",
		anyNumber("1.25", func(p place, v float64) { p.Noise = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("threshold wanted at %g × the noise", s.Noise)
		}},
	{Margins, "preferred_fraction", "preferred-fraction", "`part` of the weakest tooth to put the threshold at where the margins leave a choice (default 0.4)",
		anyNumber("0.4", func(p place, v float64) { p.PreferredFraction = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("%g of the weakest tooth preferred", s.PreferredFraction)
		}},
	{Margins, "weakest_ratio", "weakest-ratio", "weakest ÷ mean tooth where it was not measured, `ratio` (default 0.85)",
		anyNumber("0.85", func(p place, v float64) { p.WeakestRatio = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("the weakest tooth gives %g of the mean peak", s.WeakestRatio)
		}},
	{Margins, "gap_hump", "gap-hump", "`part` of the peak that shows inside a gap where it was not measured (default 0.12)",
		anyNumber("0.12", func(p place, v float64) { p.GapHump = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("a hump of %g of the peak shows inside a gap", s.GapHump)
		}},
	{Margins, "reading_scatter", "reading-scatter", "relative `scatter` of one reading (default 0.03)",
		anyNumber("0.03", func(p place, v float64) { p.ReadingScatter = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("one reading scatters by %g %% (standard deviation)", 100*s.ReadingScatter)
		}},
	{Margins, "noise_exposure_s", "noise-exposure-s", "`seconds` in which noise is not to pass its ceiling (default 600)",
		anyNumber("600", func(p place, v float64) { p.NoiseExposureS = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("noise is to stay under its ceiling for %g s at speed", s.NoiseExposureS)
		}},
	{Margins, "cranking_exposure_s", "cranking-exposure-s", "the same up to 1.5 × cranking speed, `seconds` (default 60)",
		anyNumber("60", func(p place, v float64) { p.CrankingExposureS = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("noise is to stay under its ceiling for %g s while cranking", s.CrankingExposureS)
		}},
	{Margins, "noise_rate_hz", "noise-rate-hz", "upward zero crossings of the noise per second where they were not measured, `Hz` (default 20000)",
		anyNumber("20000", func(p place, v float64) { p.NoiseRateHz = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("noise crosses zero upward %g times a second", s.NoiseRateHz)
		}},
	{Margins, "noise_reach", "noise-reach", "noise ceiling ÷ largest noise seen where only that is known, `ratio` (default 1.6)",
		anyNumber("1.6", func(p place, v float64) { p.NoiseReach = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("noise reaches %g × the largest that was seen", s.NoiseReach)
		}},
	{Margins, "confidence", "confidence", "`confidence` of every bound, one-sided (default 0.95)",
		anyNumber("0.95", func(p place, v float64) { p.Confidence = v }),
		func(s Sensor, _ Captures) string {
			return fmt.Sprintf("one-sided confidence %g", s.Confidence)
		}},

	{Files, "volts_times", "volts-times", "`factor` for every voltage, 10 for a ×10 probe on a channel left at ×1 (default 1)",
		putVoltsTimes,
		func(Sensor, Captures) string {
			return "voltages as at the sensor"
		}},
	{Files, "invert", "invert", "turn the waves over, for swapped instrument leads", putInvert, nil},
	{Files, "full_scale_v", "full-scale", "`volts` at the full scale of a WAV recording",
		positive("2", func(p place, v float64) { p.captures.FullScaleV = captures.Some(v) }), nil},
	{Files, "sample_interval", "sample-interval", "time between samples: seconds, a `time` such as 4us, or a rate such as 250kHz", putSampleInterval, nil},
	{Files, "delimiter", "delimiter", "`mark` between columns: comma, semicolon, tab, space or pipe", putDelimiter, nil},
	{Files, "decimal", "decimal", "decimal `mark`: point or comma", putDecimal, nil},
	{Files, "time_unit", "time-unit", "`unit` of the time column: s, ms, us or ns", putTimeUnit, nil},
	{Files, "volts_unit", "volts-unit", "`unit` of the voltages: kV, V, mV or uV", putVoltsUnit, nil},
}

// find returns the setting with a key, nil where there is none.
func find(group Group, key string) *setting {
	for i := range settings {
		if s := &settings[i]; s.group == group && s.key == key {
			return s
		}
	}
	return nil
}
