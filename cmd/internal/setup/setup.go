// Package setup turns what was stated of a job, in a setup file and by flags,
// into the options of the libraries, and tells what was left to be assumed.
package setup

import (
	"errors"
	"fmt"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/threshold"
)

// Sensor is what was stated of one sensor, its wheel and its input, together
// with the engine and the margins, which both sensors share.
type Sensor struct {
	threshold.Options

	DiameterMM captures.Maybe // of the wheel
	Channel    string         // its name or number in a capture; "" where not stated

	ArmsNegative   bool           // the input arms on the negative side
	CountsOnLevel  bool           // it counts at the threshold, not at the fall after it
	SpeedFromTooth bool           // it believes the last tooth, not the last revolution
	FilterHz       captures.Maybe // corner of its low-pass filter
}

// Captures is what was stated of the files. What is unknown or empty is read
// from each file.
type Captures struct {
	VoltsTimes      float64 // every voltage is multiplied by this
	Invert          bool    // the instrument's leads were swapped
	FullScaleV      captures.Maybe
	SampleIntervalS captures.Maybe
	Dialect         csvfile.Dialect
	TimeUnit        string // "s", "ms", "us" or "ns"
	VoltsUnit       string // "kV", "V", "mV" or "uV"
}

// Setup is all that was stated of a job.
type Setup struct {
	File       string // the setup file that was used; "" for none
	Sensor     string // the one that flags speak of
	Crank, Cam Sensor
	Captures   Captures
	// Assumed has every default in use, in a fixed order.
	Assumed []Assumption
}

// Of returns the sensor of a name, captures.Crank or captures.Cam.
func (s *Setup) Of(sensor string) *Sensor {
	if sensor == captures.Cam {
		return &s.Cam
	}
	return &s.Crank
}

func defaults() Setup {
	s := Setup{
		Crank:    Sensor{Options: threshold.DefaultOptions()},
		Cam:      Sensor{Options: threshold.DefaultOptions()},
		Captures: Captures{VoltsTimes: 1},
	}
	s.Cam.Shaft = captures.Cam
	return s
}

// statement is a setting given a value, in a file or by a flag.
type statement struct {
	setting *setting
	sensor  string // of whom it speaks; "" for a setting that is not a sensor's
	value   any    // as TOML gives it, or a flag's text
	origin  string // "armcurve.toml:3:1: key "wheel"", or the flag
}

// statements are in force in their order: a later one wins.
type statements []statement

// apply puts what was stated over the defaults and judges it.
func (list statements) apply(file string) (Setup, error) {
	s := defaults()
	s.File = file
	var errs []error
	for _, st := range list {
		if err := st.apply(&s); err != nil {
			errs = append(errs, err)
		}
	}
	if errs == nil {
		errs = list.judge(&s)
	}
	if errs != nil {
		return Setup{}, errors.Join(errs...)
	}
	s.Assumed = list.assumed(&s)
	return s, nil
}

func (st statement) apply(s *Setup) error {
	sensors := []string{captures.Crank, captures.Cam}
	if st.sensor != "" {
		sensors = []string{st.sensor}
	}
	for _, sensor := range sensors {
		err := st.setting.put(place{s.Of(sensor), &s.Captures}, st.value)
		var want wanted
		switch {
		case errors.As(err, &want):
			return fmt.Errorf("%s: found %s; %w", st.origin, show(st.value), want)
		case err != nil:
			return fmt.Errorf("%s: %w", st.origin, err)
		}
	}
	return nil
}

// judge finds values that are out of range, alone or beside each other.
func (list statements) judge(s *Setup) []error {
	for _, sensor := range []string{captures.Crank, captures.Cam} {
		err := s.Of(sensor).Validate()
		var option *threshold.OptionError
		if !errors.As(err, &option) {
			continue
		}
		if st := list.last(option.Key, sensor); st != nil {
			return []error{fmt.Errorf("%s: found %g; want %s", st.origin, option.Found, option.Want)}
		}
		return []error{err}
	}
	return nil
}

// last returns the statement in force, nil where there is none.
func (list statements) last(key, sensor string) *statement {
	for i := len(list) - 1; i >= 0; i-- {
		st := &list[i]
		if st.setting.key == key && (st.sensor == sensor || st.sensor == "") {
			return st
		}
	}
	return nil
}

// bothAxes finds sensors of which the same source states both the speeds of
// the rows and their number.
func (list statements) bothAxes() []error {
	var errs []error
	for _, sensor := range []string{captures.Crank, captures.Cam} {
		at, rows := list.last("at", sensor), list.last("rows", sensor)
		if at != nil && rows != nil {
			errs = append(errs, fmt.Errorf("%s: found at and rows; want one of them: the speeds of the rows, or how many to choose", rows.origin))
		}
	}
	return errs
}
