package threshold

import (
	"fmt"
	"math"

	"armcurve/captures"
)

// BetweenRows is what the controller does between two rows of its table.
type BetweenRows int

const (
	Linear BetweenRows = iota // a straight line; flat beyond the ends
	Step                      // a row holds up to the next
)

func (b BetweenRows) String() string { return [...]string{"linear", "step"}[b] }

// Input is the controller's input for one sensor.
type Input struct {
	MinV, MaxV  captures.Maybe // limits of a threshold, volts; no lower limit is 0
	StepV       float64        // thresholds are multiples of this, volts, above 0
	BetweenRows BetweenRows
	// HysteresisV is the distance, in volts, between the level that arms from
	// below 0 and the level that fires: an armed input fires at the fall
	// below rest − HysteresisV/2.
	HysteresisV float64
	ClampV      captures.Maybe // level the input holds larger signals at
}

// Axis is the speeds of a table.
type Axis struct {
	AtRPM []float64 // given speeds; nil lets the axis be chosen
	Rows  int       // how many to choose
	Best  bool      // choose those that leave the most room
	Auto  bool      // choose how many, too: as few as reach the targets
	// StepRPM is the spacing the controller can store. Fixed says that it was
	// stated, so the ends of cranking and the limit are put on it too.
	StepRPM float64
	Fixed   bool
}

// Margins are the targets. All are ratios above 1 but PreferredFraction.
type Margins struct {
	Signal         float64 // weakest tooth ÷ threshold, from 3 × cranking up
	SignalCranking float64 // the same up to 1.5 × cranking; between, linear
	Noise          float64 // threshold ÷ noise ceiling
	// PreferredFraction is the threshold ÷ weakest tooth aimed at where both
	// targets leave a choice.
	PreferredFraction float64
}

// Options is what was stated of one sensor, its input and its engine.
type Options struct {
	Wheel captures.Wheel
	Shaft string // captures.Crank or captures.Cam: which shaft the wheel is on
	Input Input
	Axis  Axis
	Margins

	// CrankingLowRPM to CrankingRPM is the range the starter turns at.
	CrankingLowRPM, CrankingRPM float64
	CrankingRipple              captures.Maybe // unknown: measured, else 0.4
	LimitRPM                    captures.Maybe // unknown: highest reading, rounded up to 500
	ReachableRPM                captures.Maybe // highest speed that can be measured at; unknown: 0.6 of the limit

	WeakestRatio   float64 // weakest ÷ mean tooth, where not measured
	GapHump        float64 // hump in a gap ÷ peak, where not measured
	ReadingScatter float64 // relative standard deviation of one reading

	NoiseExposureS    float64 // seconds in which noise must not pass its ceiling
	CrankingExposureS float64 // the same up to 1.5 × cranking
	NoiseRateHz       float64 // upward zero crossings per second, where not measured
	NoiseReach        float64 // noise ceiling ÷ largest noise seen, where only that is known
	Confidence        float64 // of every bound, one-sided
}

// DefaultOptions returns what is assumed where nothing is stated. Values are
// common practice.
func DefaultOptions() Options {
	return Options{
		Shaft: captures.Crank,
		Input: Input{StepV: 0.01},
		Axis:  Axis{Rows: 8, StepRPM: 100},
		Margins: Margins{
			Signal: 2, SignalCranking: 1.5, Noise: 1.25, PreferredFraction: 0.4,
		},
		CrankingLowRPM: 150, CrankingRPM: 200,
		WeakestRatio: 0.85, GapHump: 0.12, ReadingScatter: 0.03,
		NoiseExposureS: 600, CrankingExposureS: 60, NoiseRateHz: 20000, NoiseReach: 1.6,
		Confidence: 0.95,
	}
}

// DefaultRipple is the speed ripple assumed at cranking speed.
const DefaultRipple = 0.4

// Validate tells the first option that cannot be used.
func (o Options) Validate() error {
	checks := []struct {
		name  string
		value float64
		ok    bool
		want  string
	}{
		{"step_v", o.Input.StepV, o.Input.StepV > 0, "above 0"},
		{"hysteresis_v", o.Input.HysteresisV, o.Input.HysteresisV >= 0, "0 or more"},
		{"threshold_min_v", o.Input.MinV.Or(0), o.Input.MinV.Or(0) >= 0, "0 or more"},
		{"threshold_max_v", o.Input.MaxV.Or(0), !o.Input.MaxV.Known || o.Input.MaxV.Value > o.Input.MinV.Or(0), "above threshold_min_v"},
		{"threshold_max_v", o.Input.MaxV.Or(0), !o.Input.MaxV.Known || o.Input.holdsAStep(), "a multiple of step_v above 0 up to it, from threshold_min_v on"},
		{"clamp_v", o.Input.ClampV.Or(0), !o.Input.ClampV.Known || o.Input.ClampV.Value > 0, "above 0"},
		{"rows", float64(o.Axis.Rows), o.Axis.AtRPM != nil || o.Axis.Rows >= 4 && o.Axis.Rows <= 64, "4 to 64"},
		{"axis_step_rpm", o.Axis.StepRPM, o.Axis.StepRPM > 0 && o.Axis.StepRPM <= 1000, "above 0, up to 1000"},
		{"signal", o.Signal, o.Signal > 1, "above 1"},
		{"signal_cranking", o.SignalCranking, o.SignalCranking > 1, "above 1"},
		{"noise", o.Noise, o.Noise > 1, "above 1"},
		{"preferred_fraction", o.PreferredFraction, o.PreferredFraction > 0 && o.PreferredFraction < 1, "between 0 and 1"},
		{"cranking_rpm", o.CrankingRPM, o.CrankingRPM > 0 && o.CrankingRPM <= 2000, "above 0, up to 2000"},
		{"cranking_rpm", o.CrankingLowRPM, o.CrankingLowRPM > 0 && o.CrankingLowRPM <= o.CrankingRPM, "a lower end above 0, not above the upper one"},
		{"cranking_ripple", o.CrankingRipple.Or(0), o.CrankingRipple.Or(0) >= 0 && o.CrankingRipple.Or(0) <= maxRipple, "0 to 0.6"},
		{"limit_rpm", o.LimitRPM.Or(0), !o.LimitRPM.Known || o.LimitRPM.Value > o.CrankingRPM && o.LimitRPM.Value <= mostRPM, "above cranking, up to 30000"},
		{"reachable_rpm", o.ReachableRPM.Or(0), !o.ReachableRPM.Known || o.ReachableRPM.Value > o.CrankingRPM && o.ReachableRPM.Value <= mostRPM, "above cranking, up to 30000"},
		{"weakest_ratio", o.WeakestRatio, o.WeakestRatio > 0 && o.WeakestRatio <= 1, "above 0, up to 1"},
		{"gap_hump", o.GapHump, o.GapHump >= 0 && o.GapHump < 1, "0 to below 1"},
		{"reading_scatter", o.ReadingScatter, o.ReadingScatter > 0 && o.ReadingScatter <= 0.5, "above 0, up to 0.5"},
		{"noise_exposure_s", o.NoiseExposureS, o.NoiseExposureS > 0, "above 0"},
		{"cranking_exposure_s", o.CrankingExposureS, o.CrankingExposureS > 0, "above 0"},
		{"noise_rate_hz", o.NoiseRateHz, o.NoiseRateHz > 0, "above 0"},
		{"noise_reach", o.NoiseReach, o.NoiseReach >= 1, "1 or more"},
		{"confidence", o.Confidence, o.Confidence >= 0.5 && o.Confidence < 1, "0.5 to below 1"},
	}
	for _, c := range checks {
		if !c.ok || math.IsNaN(c.value) {
			return &OptionError{Key: c.name, Found: c.value, Want: c.want}
		}
		if c.value > mostUsable || c.value > 0 && c.value < leastUsable {
			return &OptionError{Key: c.name, Found: c.value, Want: fmt.Sprintf("%g to %g", leastUsable, mostUsable)}
		}
	}
	return o.Axis.validate()
}

func (a Axis) validate() error {
	if a.AtRPM != nil && len(a.AtRPM) == 0 {
		return &OptionError{Key: "at", Want: "one speed or more"}
	}
	for i, rpm := range a.AtRPM {
		if !(rpm >= 0 && rpm <= mostRPM) || i > 0 && rpm <= a.AtRPM[i-1] {
			return &OptionError{Key: "at", Found: rpm, Want: "speeds from 0 to 30000 in rising order"}
		}
	}
	return nil
}

// OptionError names an option that cannot be used.
type OptionError struct {
	Key   string // as in the setup file
	Found float64
	Want  string
}

func (e *OptionError) Error() string {
	return fmt.Sprintf("%s is %v: want %s", e.Key, e.Found, e.Want)
}

// teethPerEngineTurn is how many teeth pass per engine revolution, missing ones
// counted; 0 where the wheel is not known.
func (o Options) teethPerEngineTurn() float64 {
	n := float64(o.Wheel.Pitches)
	if n == 0 {
		n = float64(len(o.Wheel.AnglesDeg))
	}
	if o.Shaft == captures.Cam {
		return n / 2
	}
	return n
}
