package cli

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/cmd/internal/report"
	"armcurve/cmd/internal/setup"
	"armcurve/threshold"
)

// measured is what a set of input files says.
type measured struct {
	sensors  []sensorReadings // crank first
	readAs   []string
	findings []captures.Finding
	repeated []captures.Finding // files that are named twice
	notes    []string           // conversions made, to be listed as assumed
	// refused are sensors with a capture from which nothing may be concluded.
	refused []report.Missing
	waves   []report.MeasuredCapture
	lists   []string // the files of readings
	several bool     // there are several files
}

type sensorReadings struct {
	name     string
	readings []captures.Reading
}

// names are those of the sensors measured.
func (m measured) names() []string {
	var list []string
	for _, s := range m.sensors {
		list = append(list, s.name)
	}
	return list
}

// readAll reads the sources, readings and captures alike, as one set of
// readings, sensors apart.
func readAll(list []source, s *setup.Setup, condition string, k keeping) (measured, error) {
	var m measured
	var all []captures.Reading
	var errs []error
	m.several = len(list) > 1
	for _, src := range list {
		readings, err := m.readOne(src, s, k)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		all = append(all, readings...)
	}
	if errs != nil {
		return m, errors.Join(errs...)
	}
	distinct, repeated := csvfile.Distinct(all)
	m.findings = append(m.findings, repeated...)
	if err := knownCondition(distinct, condition); err != nil {
		return m, err
	}
	return m, m.split(distinct, s, condition)
}

// readOne reads a file of readings, or measures a capture.
func (m *measured) readOne(src source, s *setup.Setup, k keeping) ([]captures.Reading, error) {
	r, err := src.open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	head, whole, err := csvfile.Unpack(r)
	if err != nil {
		return nil, fileError(src.name, err)
	}
	switch kind := csvfile.Sniff(head); kind {
	case csvfile.Capture, csvfile.Wave:
		k.noiseOnly = src.noiseOnly
		return m.readCapture(whole, src, kind, s, k)
	case csvfile.Table:
		return nil, wrongTable(src.name)
	}
	if src.noiseOnly {
		return nil, hint(fmt.Errorf("--noise %s: these are readings; want a capture of the stopped engine", src.name),
			"readings are given without --noise: a row of rpm 0 with noise_v is that of the stopped engine")
	}
	return m.readReadings(whole, src.name, s)
}

func (m *measured) readReadings(r io.Reader, name string, s *setup.Setup) ([]captures.Reading, error) {
	file, err := csvfile.ReadReadings(r, name, csvfile.ReadingsOptions{Dialect: s.Captures.Dialect, VoltsTimes: s.Captures.VoltsTimes})
	if err != nil {
		return nil, err
	}
	m.lists = append(m.lists, name)
	m.readAs = append(m.readAs, name+": "+file.ReadAs)
	m.findings = append(m.findings, file.Findings...)
	m.notes = append(m.notes, conversion(name, file.Quantity)...)
	return file.Readings, nil
}

func (m *measured) readCapture(r io.Reader, src source, kind csvfile.Kind, s *setup.Setup, k keeping) ([]captures.Reading, error) {
	name := src.name
	waves, info, err := measureWave(r, name, kind, s, k)
	if err == nil && k.measured == nil {
		err = placeCam(waves, src, kind, s, k)
	}
	if err != nil {
		return nil, err
	}
	if k.noiseOnly {
		info.ReadAs += ", all of it noise"
		seekTurning(waves, src, kind, s)
	}
	m.readAs = append(m.readAs, name+": "+info.ReadAs)
	m.waves = append(m.waves, waves...)
	var readings []captures.Reading
	for _, w := range waves {
		told := report.Told(w, m.several, len(waves) > 1)
		finding, refused := refusal(w.Measurement)
		if !refused || k.noiseOnly {
			m.findings = append(m.findings, told(w.Measurement.Findings...)...)
			readings = append(readings, w.Measurement.Readings...)
			continue
		}
		m.refused = append(m.refused, report.Missing{Sensor: w.Measurement.Sensor, Finding: told(finding)[0]})
		for _, f := range w.Measurement.Findings {
			if f.Kind != finding.Kind {
				m.findings = append(m.findings, told(f)...)
			}
		}
	}
	return readings, nil
}

// isRefused tells whether nothing may be concluded of a sensor.
func (m measured) isRefused(sensor string) bool {
	return slices.ContainsFunc(m.refused, func(r report.Missing) bool { return r.Sensor == sensor })
}

func conversion(name string, q captures.Quantity) []string {
	switch q {
	case captures.PeakToPeak:
		return []string{name + ": peak-to-peak values halved, as for a signal that swings alike to both sides"}
	case captures.RMS:
		return []string{name + ": rms values times √2, as for a sine"}
	}
	return nil
}

// knownCondition refuses a condition that no peak was measured under.
func knownCondition(readings []captures.Reading, condition string) error {
	var known []string
	for _, r := range readings {
		if r.PeakV.Known && r.Condition != "" && !slices.Contains(known, r.Condition) {
			known = append(known, r.Condition)
		}
	}
	switch {
	case condition == "" || slices.Contains(known, condition):
		return nil
	case known == nil:
		return fmt.Errorf("--condition: found %q; want none, as no reading of a peak names a condition", condition)
	}
	slices.Sort(known)
	return fmt.Errorf("--condition: found %q; want one that a reading of a peak names: %s", condition, strings.Join(known, ", "))
}

// split sorts readings by sensor, picks their condition and judges what they
// were read off from.
func (m *measured) split(all []captures.Reading, s *setup.Setup, condition string) error {
	for _, name := range []string{captures.Crank, captures.Cam} {
		of := slices.DeleteFunc(slices.Clone(all), func(r captures.Reading) bool { return r.Sensor != name })
		if len(of) == 0 {
			continue
		}
		of, err := threshold.SelectCondition(of, condition)
		if err != nil {
			return hint(err, "--condition chooses one; readings with another load or plug are another curve")
		}
		doubts, err := meterDoubt(of, s.Of(name))
		if err != nil {
			return err
		}
		m.findings = append(m.findings, doubts...)
		m.notes = append(m.notes, adoptWheel(of, s.Of(name), name)...)
		m.sensors = append(m.sensors, sensorReadings{name, of})
	}
	return nil
}

// adoptWheel takes the wheel that the captures showed where none was stated.
// Captures that disagree show none.
func adoptWheel(readings []captures.Reading, s *setup.Sensor, name string) (notes []string) {
	if s.Wheel.Known() {
		return nil
	}
	shown := ""
	for _, r := range readings {
		if r.Wheel != "" && shown != "" && r.Wheel != shown {
			return nil
		}
		shown = cmp.Or(r.Wheel, shown)
	}
	wheel, err := captures.ParseWheel(shown)
	if err != nil {
		return nil
	}
	s.Wheel = wheel
	return []string{fmt.Sprintf("the %s wheel is %s, as the captures show (--wheel)", name, shown)}
}
