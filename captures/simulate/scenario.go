package simulate

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"

	"armcurve/captures"
)

// Scenario is a practice case: one or more captures of an invented engine, what
// its owner would say of it, and what is true of it.
type Scenario struct {
	Name string
	Text string // one sentence, without giving the fault away where it is to be found
	// Captures are named for the file they make, without its ending.
	Captures []Rig
	Setup    Setup
	// Tables are what the inputs are set to.
	Tables []Table
	// Cause is the kind of the first cause to be found for Tables, "" where
	// there is none.
	Cause string
	// Sensor is the one that the cause is to be found on.
	Sensor string
}

// Setup is what the owner states; it may be wrong.
type Setup struct {
	CrankWheel  string // "" where it is not stated
	CamWheel    string // "" where no cam sensor is recorded
	CrankingRPM float64
	LimitRPM    float64
}

// Table is an arming threshold over the engine's speed.
type Table struct {
	Sensor string
	Rows   []Row
}

// Row is one row of a table.
type Row struct {
	RPM        float64
	ThresholdV float64
}

// At is the threshold at a speed: linear between the rows, flat outside, NaN
// without any rows.
func (t Table) At(rpm float64) float64 {
	if len(t.Rows) == 0 {
		return math.NaN()
	}
	for i, row := range t.Rows {
		if rpm > row.RPM {
			continue
		}
		if i == 0 {
			return row.ThresholdV
		}
		before := t.Rows[i-1]
		return before.ThresholdV + (row.ThresholdV-before.ThresholdV)*(rpm-before.RPM)/(row.RPM-before.RPM)
	}
	return t.Rows[len(t.Rows)-1].ThresholdV
}

// WriteCSV writes the table as one that a person would have typed.
func (t Table) WriteCSV(w io.Writer) error {
	out := bufio.NewWriter(w)
	out.WriteString("rpm,threshold_v\n") // an error stays with out until Flush
	for _, row := range t.Rows {
		out.WriteString(strconv.FormatFloat(row.RPM, 'f', -1, 64) + "," +
			strconv.FormatFloat(row.ThresholdV, 'f', -1, 64) + "\n")
	}
	return out.Flush()
}

// Scenarios are all practice cases, the healthy ones first.
func Scenarios() []Scenario { return append(healthy(), faulty()...) }

// FindScenario gives the scenario of a name.
func FindScenario(name string) (Scenario, error) {
	for _, s := range Scenarios() {
		if s.Name == name {
			return s, nil
		}
	}
	return Scenario{}, fmt.Errorf("scenario is %q: want a name of the list", name)
}

// mustWheel reads a wheel that stands in this package.
func mustWheel(text string) captures.Wheel {
	w, err := captures.ParseWheel(text)
	if err != nil {
		panic(err) // a slip in a constant of this package, met by its tests
	}
	return w
}
