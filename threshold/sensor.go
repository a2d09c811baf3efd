package threshold

import (
	"fmt"
	"math"
	"slices"

	"armcurve/captures"
)

// Sensor is the model of one sensor: what its readings and the options say of
// amplitude, weakest tooth and noise at every speed.
type Sensor struct {
	Name    string // captures.Crank or captures.Cam
	Options Options
	Curve   *Curve
	// LimitRPM is the highest speed judged.
	LimitRPM float64
	// Findings of the readings themselves, whatever table they are used for.
	Findings []captures.Finding
	// Assumed names the options, by their key in the setup file, whose value
	// stood in for something that was not measured.
	Assumed []string

	readings []captures.Reading // all of them, by speed
	outliers []outlier

	points  points // the readings behind the curve
	weakest weakestTooth
	ripple  ripple
	noise   *noiseModel
	// unmeasuredBelowRPM: under it a missed target proves nothing.
	unmeasuredBelowRPM float64
	readingsRPM        []float64 // speeds of the readings, rising
	crankingMeasured   bool
	windows            []Window // at every speed that is judged
}

// TooFewError says that there are not enough speeds to fit a curve to.
type TooFewError struct {
	Sensor  string
	Speeds  int // distinct speeds with a usable peak
	Clipped int // readings that are none for that
}

func (e *TooFewError) Error() string {
	clipped := ""
	if e.Clipped > 0 {
		clipped = fmt.Sprintf(", and %d clipped, which only say that the peak is higher", e.Clipped)
	}
	speeds := "speeds"
	if e.Speeds == 1 {
		speeds = "speed"
	}
	return fmt.Sprintf("the %s sensor has a usable peak at %d distinct %s%s: want 3 or more, each at least 10 %% from the next", e.Sensor, e.Speeds, speeds, clipped)
}

// NewSensor fits the model of one sensor to its readings. It needs a peak at
// three distinct speeds: else a *TooFewError. Other errors are those of the
// options and a *ReadingError.
func NewSensor(readings []captures.Reading, o Options) (*Sensor, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	for _, r := range readings {
		if err := usable(r); err != nil {
			return nil, err
		}
	}
	readings = slices.Clone(readings)
	slices.SortStableFunc(readings, bySpeed)
	s := &Sensor{Name: captures.Crank, Options: o}
	if len(readings) > 0 && readings[0].Sensor != "" {
		s.Name = readings[0].Sensor
	}
	all := newPoints(readings)
	if all.speeds < leastSpeeds {
		return nil, &TooFewError{s.Name, all.speeds, clippedPeaks(readings)}
	}
	s.readings, s.LimitRPM = readings, limitRPM(readings, o)
	if err := s.fit(all); err != nil {
		return nil, err
	}
	s.model(readings)
	s.Findings = s.readingFindings(readings, s.outliers)
	return s, nil
}

func clippedPeaks(readings []captures.Reading) (n int) {
	for _, r := range readings {
		if r.Clipped && r.PeakV.Known {
			n++
		}
	}
	return n
}

// fit sets up the curve, from all points but outliers.
func (s *Sensor) fit(all points) error {
	o := s.Options
	fits, err := fitAll(all)
	if err != nil {
		return err
	}
	if s.points, s.outliers, err = splitOutliers(all, fits, o); err != nil {
		return err
	}
	if len(s.outliers) > 0 {
		if fits, err = fitAll(s.points); err != nil {
			return err
		}
	}
	s.Curve, err = newCurve(s.points, fits, o, o.Confidence, math.Max(s.LimitRPM, 4*s.points.highRPM()))
	if err != nil {
		return err
	}
	s.Curve.doubts = doubtful(s.outliers, s.points)
	s.Curve.clips = newClips(s.readings, s.Curve.HighRPM)
	return nil
}

// model sets up all but the curve.
func (s *Sensor) model(readings []captures.Reading) {
	o := s.Options
	var weakestKnown, rippleKnown bool
	s.weakest, weakestKnown = newWeakestTooth(s.withoutOutliers(readings), o)
	s.ripple, rippleKnown = newRipple(s.withoutOutliers(readings), o, s.weakest.ratio)
	s.noise = newNoiseModel(readings, o, func(rpm float64) float64 { return s.Curve.At(rpm).V })
	for _, r := range readings {
		s.readingsRPM = append(s.readingsRPM, r.RPM)
	}
	s.crankingMeasured = s.Curve.LowRPM <= 1.5*o.CrankingRPM || len(s.weakest.whileCranking) > 0
	if !s.crankingMeasured {
		s.unmeasuredBelowRPM = s.Curve.LowRPM / lowestReach
	}
	s.Assumed = s.assumed(weakestKnown, rippleKnown)
	s.windows = s.windowsAt(s.judgedSpeeds())
}

func (s *Sensor) withoutOutliers(readings []captures.Reading) []captures.Reading {
	return slices.DeleteFunc(slices.Clone(readings), func(r captures.Reading) bool {
		return slices.ContainsFunc(s.outliers, func(o outlier) bool { return o.reading == r })
	})
}

// assumed lists the keys of the options that stood in for a measurement.
func (s *Sensor) assumed(weakestKnown, rippleKnown bool) []string {
	n := s.noise
	bare := slices.ContainsFunc(n.noises, func(at noiseAt) bool { return at.bareV.Known })
	var keys []string
	for _, a := range []struct {
		key string
		is  bool
	}{
		{"weakest_ratio", !weakestKnown},
		{"cranking_ripple", !rippleKnown},
		{"gap_hump", n.known() && s.Options.Wheel.Gapped() && len(n.humps) == 0},
		{"wheel", n.known() && !s.Options.Wheel.Known()},
		{"reading_scatter", true},
		{"noise_rate_hz", n.rateAssumed},
		{"noise_reach", bare},
		{"noise_exposure_s", n.known()},
		{"cranking_exposure_s", n.known()},
	} {
		if a.is {
			keys = append(keys, a.key)
		}
	}
	return keys
}

// limitRPM is the stated limit, else the highest reading rounded up.
func limitRPM(readings []captures.Reading, o Options) float64 {
	if o.LimitRPM.Known {
		return o.LimitRPM.Value
	}
	highest := 1.5 * o.CrankingRPM
	for _, r := range readings {
		highest = math.Max(highest, r.RPM)
	}
	return math.Ceil(highest/limitRound) * limitRound
}

// MixedConditionsError says that peaks of several conditions would be mixed.
type MixedConditionsError struct{ First, Second captures.Reading }

func (e *MixedConditionsError) Error() string {
	return fmt.Sprintf("%s: condition is %q, but %q at %s: want peaks of one condition in a curve",
		e.Second.Pos, e.Second.Condition, e.First.Condition, e.First.Pos)
}

// SelectCondition keeps the peaks of one condition; noise counts whatever its
// condition. An empty condition accepts whatever is there if it is one, and is
// a *MixedConditionsError otherwise.
func SelectCondition(readings []captures.Reading, condition string) ([]captures.Reading, error) {
	var kept []captures.Reading
	var first *captures.Reading
	for i, r := range readings {
		if r.PeakV.Known && condition != "" && r.Condition != condition {
			r.PeakV, r.WeakestV = captures.Maybe{}, captures.Maybe{}
			if !r.HasNoise() && !r.HumpV.Known {
				continue
			}
		}
		if r.PeakV.Known && first == nil {
			first = &readings[i]
		}
		if r.PeakV.Known && r.Condition != first.Condition {
			return nil, &MixedConditionsError{*first, r}
		}
		kept = append(kept, r)
	}
	return kept, nil
}

// NoiseKnown tells whether anything was measured of the noise.
func (s *Sensor) NoiseKnown() bool { return s.noise.known() }

// StandIns are the keys that Assumed may hold.
var StandIns = []string{
	"weakest_ratio", "cranking_ripple", "gap_hump", "wheel", "reading_scatter",
	"noise_rate_hz", "noise_reach", "noise_exposure_s", "cranking_exposure_s",
}
