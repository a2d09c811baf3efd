package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/cmd/internal/setup"
	"armcurve/threshold"
)

const tableHint = "a table is a CSV file with rpm and threshold_v, or typed out: --table 0=0.2,500=0.6,3000=3.2"

// tableFlag is the flag of a table, that is given once.
type tableFlag string

func (t *tableFlag) String() string { return string(*t) }

func (t *tableFlag) Type() string { return "table" }

func (t *tableFlag) Set(text string) error {
	if *t != "" {
		return fmt.Errorf("%s is given already; want one table, with a column sensor if it holds those of crank and cam", *t)
	}
	*t = tableFlag(text)
	return nil
}

// givenTable is a table that the tuner gave, of one sensor or of both.
type givenTable struct {
	csvfile.TableFile
	name string
}

// readTable reads a table from a file, or typed out.
func readTable(text string, s *setup.Setup) (givenTable, error) {
	_, err := os.Stat(text)
	switch {
	case text == standardInput:
		return givenTable{}, hint(errors.New("--table: found -; want the name of a file"), tableHint)
	case err == nil:
		return readTableFrom(file(text), s)
	case strings.Contains(text, "="):
		parsed, err := csvfile.ParseTable(text, "--table")
		return givenTable{parsed, "--table"}, err
	}
	return givenTable{}, hint(fileError(text, err), tableHint)
}

func readTableFrom(src source, s *setup.Setup) (givenTable, error) {
	r, err := src.open()
	if err != nil {
		return givenTable{}, err
	}
	defer r.Close()
	head, err := readHead(r)
	if err != nil {
		return givenTable{}, fileError(src.name, err)
	}
	if err := wantTable(src.name, csvfile.Sniff(head)); err != nil {
		return givenTable{}, err
	}
	parsed, err := csvfile.ReadTable(io.MultiReader(bytes.NewReader(head), r), src.name, s.Captures.Dialect)
	return givenTable{parsed, src.name}, err
}

// readAs echoes how the table was read.
func (g givenTable) readAs() string { return g.name + ": " + g.ReadAs }

// of returns the table for a sensor, as its input uses it between rows.
func (g givenTable) of(sensor *setup.Sensor, name string) threshold.Table {
	var rows []threshold.Row
	for _, r := range g.Of(name) {
		rows = append(rows, threshold.Row{RPM: r.RPM, ThresholdV: captures.Some(r.ThresholdV), Pos: r.Pos})
	}
	return threshold.NewTable(rows, sensor.Input.BetweenRows)
}

// fits refuses a table that cannot be for the sensors measured, and tells of
// rows for one that was not.
func (g givenTable) fits(sensors []string) ([]captures.Finding, error) {
	if !g.NamesSensors() {
		if len(sensors) > 1 {
			return nil, hint(fmt.Errorf("%s does not say whether it is for the crank or the cam, and the readings speak of both", g.name),
				"give the table a column sensor, or keep the readings of crank and cam in two files")
		}
		return nil, nil
	}
	measured := map[string]bool{}
	for _, name := range sensors {
		measured[name] = true
		if len(g.Of(name)) == 0 {
			return nil, fmt.Errorf("%s: no row for the %s, which the readings speak of", g.name, name)
		}
	}
	for _, name := range []string{captures.Crank, captures.Cam} {
		if rows := len(g.Of(name)); rows > 0 && !measured[name] {
			return []captures.Finding{{
				Kind: "not-judged", Severity: captures.Note,
				Text:   fmt.Sprintf("%s has %d rows for the %s, which was not measured: they are not judged", g.name, rows, name),
				Advice: "give readings of the " + name + " too",
			}}, nil
		}
	}
	return nil, nil
}
