package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/cmd/internal/setup"
	"armcurve/threshold"
)

// measured is what a set of input files says.
type measured struct {
	sensors  []sensorReadings // crank first
	readAs   []string
	findings []captures.Finding
	notes    []string // conversions made, to be listed as assumed
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

// readAll reads the sources as one set of readings, sensors apart.
func readAll(list []source, s *setup.Setup, condition string) (measured, error) {
	var m measured
	var all []captures.Reading
	var errs []error
	for _, src := range list {
		file, err := readOne(src, s)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		m.readAs = append(m.readAs, src.name+": "+file.ReadAs)
		m.findings = append(m.findings, file.Findings...)
		m.notes = append(m.notes, conversion(src.name, file.Quantity)...)
		all = append(all, file.Readings...)
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

func readOne(src source, s *setup.Setup) (csvfile.ReadingsFile, error) {
	r, err := src.open()
	if err != nil {
		return csvfile.ReadingsFile{}, err
	}
	defer r.Close()
	head, err := readHead(r)
	if err != nil {
		return csvfile.ReadingsFile{}, fileError(src.name, err)
	}
	kind := csvfile.Sniff(head)
	if err := wantReadings(src.name, kind); err != nil {
		return csvfile.ReadingsFile{}, err
	}
	file, err := csvfile.ReadReadings(io.MultiReader(bytes.NewReader(head), r), src.name,
		csvfile.ReadingsOptions{Dialect: s.Captures.Dialect, VoltsTimes: s.Captures.VoltsTimes})
	if err != nil && kind == csvfile.Capture {
		err = hint(err, sheetHint)
	}
	return file, err
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
		m.sensors = append(m.sensors, sensorReadings{name, of})
	}
	return nil
}
