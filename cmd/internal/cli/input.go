package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
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

// source is a file to read, or the standard input.
type source struct {
	name string
	open func() (io.ReadCloser, error)
}

// sources are the files named; a folder stands for the readings in it.
func sources(names []string, stdin io.Reader) ([]source, error) {
	var list []source
	for _, name := range names {
		if name == "-" {
			list = append(list, source{"standard input", func() (io.ReadCloser, error) { return io.NopCloser(stdin), nil }})
			continue
		}
		info, err := os.Stat(name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil, fmt.Errorf("%s: no such file", name)
		case err != nil:
			return nil, err
		case info.IsDir():
			inside, err := folder(name)
			if err != nil {
				return nil, err
			}
			list = append(list, inside...)
		default:
			list = append(list, file(name))
		}
	}
	return list, nil
}

func file(name string) source {
	return source{name, func() (io.ReadCloser, error) { return os.Open(name) }}
}

// folder lists the readings in a folder, by name. Tables, setups and notes lie
// in a job folder too and are passed over.
func folder(name string) ([]source, error) {
	entries, err := os.ReadDir(name)
	if err != nil {
		return nil, err
	}
	var list []source
	for _, entry := range entries {
		path := filepath.Join(name, entry.Name())
		if entry.IsDir() || strings.ToLower(filepath.Ext(path)) != ".csv" {
			continue
		}
		kind, err := kindOf(path)
		if err != nil {
			return nil, err
		}
		if kind == csvfile.Readings {
			list = append(list, file(path))
		}
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("%s: no file of readings in this folder", name)
	}
	return list, nil
}

// headBytes is how much of a file tells its kind.
const headBytes = 64 << 10

func kindOf(name string) (csvfile.Kind, error) {
	f, err := os.Open(name)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	head, err := io.ReadAll(io.LimitReader(f, headBytes))
	if err != nil {
		return 0, fmt.Errorf("%s: %w", name, err)
	}
	return csvfile.Sniff(head), nil
}

// commandFor says which command wants a file.
func commandFor(name string) (string, error) {
	kind, err := kindOf(name)
	if err != nil {
		return "", err
	}
	switch kind {
	case csvfile.Table:
		return "these are thresholds: armcurve check --table " + name + " READINGS", nil
	case csvfile.Readings:
		return "these are readings: armcurve propose " + name, nil
	}
	return "armcurve propose, check and compare want a file of readings: a header with rpm and peak_v", nil
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
	return m, m.split(distinct, condition)
}

func readOne(src source, s *setup.Setup) (csvfile.ReadingsFile, error) {
	r, err := src.open()
	if err != nil {
		return csvfile.ReadingsFile{}, err
	}
	defer r.Close()
	head := make([]byte, headBytes)
	n, err := io.ReadFull(r, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return csvfile.ReadingsFile{}, fmt.Errorf("%s: %w", src.name, err)
	}
	if err := wantReadings(src.name, csvfile.Sniff(head[:n])); err != nil {
		return csvfile.ReadingsFile{}, err
	}
	return csvfile.ReadReadings(io.MultiReader(bytes.NewReader(head[:n]), r), src.name,
		csvfile.ReadingsOptions{Dialect: s.Captures.Dialect, VoltsTimes: s.Captures.VoltsTimes})
}

// wantReadings refuses a file of another kind, and says where it belongs.
func wantReadings(name string, kind csvfile.Kind) error {
	if kind == csvfile.Table {
		return hint(fmt.Errorf("%s: this is a table of thresholds; want readings", name),
			"armcurve check --table "+name+" READINGS judges it")
	}
	return nil
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

// split sorts readings by sensor and picks their condition.
func (m *measured) split(all []captures.Reading, condition string) error {
	for _, name := range []string{captures.Crank, captures.Cam} {
		of := slices.DeleteFunc(slices.Clone(all), func(r captures.Reading) bool { return r.Sensor != name })
		if len(of) == 0 {
			continue
		}
		of, err := threshold.SelectCondition(of, condition)
		if err != nil {
			return hint(err, "--condition chooses one; readings with another load or plug are another curve")
		}
		m.sensors = append(m.sensors, sensorReadings{name, of})
	}
	return nil
}

// readTable reads a table from a file, or typed out.
func readTable(text string, s *setup.Setup, between threshold.BetweenRows) (threshold.Table, string, error) {
	_, err := os.Stat(text)
	switch {
	case err == nil:
		return readTableFrom(file(text), s, between)
	case strings.Contains(text, "="):
		parsed, err := csvfile.ParseTable(text, "--table")
		return tableOf(parsed, between), "--table: " + parsed.ReadAs, err
	}
	return threshold.Table{}, "", hint(fmt.Errorf("%s: no such file", text),
		"a table is a CSV file with rpm and threshold_v, or typed out: --table 0=0.2,500=0.6,3000=3.2")
}

func readTableFrom(src source, s *setup.Setup, between threshold.BetweenRows) (threshold.Table, string, error) {
	r, err := src.open()
	if err != nil {
		return threshold.Table{}, "", err
	}
	defer r.Close()
	parsed, err := csvfile.ReadTable(r, src.name, s.Captures.Dialect)
	return tableOf(parsed, between), src.name + ": " + parsed.ReadAs, err
}

func tableOf(f csvfile.TableFile, between threshold.BetweenRows) threshold.Table {
	rows := make([]threshold.Row, len(f.Rows))
	for i, r := range f.Rows {
		rows[i] = threshold.Row{RPM: r.RPM, ThresholdV: captures.Some(r.ThresholdV), Pos: r.Pos}
	}
	return threshold.NewTable(rows, between)
}
