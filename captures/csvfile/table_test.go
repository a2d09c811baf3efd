package csvfile

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"armcurve/captures"
)

func TestReadTable(t *testing.T) {
	want := []TableRow{{at(4), "", 0, 0.2}, {at(3), "", 500, 0.6}, {at(2), "", 3000, 3.25}}
	for name, text := range map[string]string{
		"plain":         "rpm,threshold_v\n3000,3.25\n500,0.6\n0,0.2\n",
		"other columns": "verdict,RPM,Threshold_V,note\nclear,3000,3.25,\"a,b\"\nthin,500,0.6,\nclear,0,0.2\n",
		"millivolts":    "rpm,threshold_mv\n3000,3250\n500,600\n0,200\n",
		"decimal comma": "rpm;threshold_v;;\n3000;3,25;;\n500;0,6;;\n0;0,2;;\n",
	} {
		table, err := ReadTable(strings.NewReader(text), "run.csv", Dialect{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if diff := cmp.Diff(want, table.Rows); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
		if !strings.HasPrefix(table.ReadAs, "table, 3 rows") {
			t.Errorf("%s: read as %q", name, table.ReadAs)
		}
	}
}

// A file may hold the tables of both sensors; an empty cell speaks of the
// crank, as in a file of readings.
func TestTableOfSensors(t *testing.T) {
	table, err := ReadTable(strings.NewReader("sensor,rpm,threshold_v\ncam,500,0.3\n,500,0.6\nCrank,0,0.2\n"), "run.csv", Dialect{})
	if err != nil {
		t.Fatal(err)
	}
	if !table.NamesSensors() {
		t.Error("names no sensors")
	}
	for sensor, want := range map[string][]TableRow{
		captures.Crank: {{at(4), captures.Crank, 0, 0.2}, {at(3), captures.Crank, 500, 0.6}},
		captures.Cam:   {{at(2), captures.Cam, 500, 0.3}},
	} {
		if diff := cmp.Diff(want, table.Of(sensor)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", sensor, diff)
		}
	}
	plain, err := ParseTable("0=0.2,500=0.6", "--table")
	if err != nil {
		t.Fatal(err)
	}
	if plain.NamesSensors() || len(plain.Of(captures.Cam)) != 2 {
		t.Errorf("a table that names no sensor is not for every one: %v", plain)
	}
}

func TestTableErrors(t *testing.T) {
	cases := []struct {
		text         string
		line, column int
		message      string
	}{
		{"", 1, 1, `run.csv:1: found no text; want a first line with the names of the columns`},
		{"rpm,threshold_v\n", 1, 1, `run.csv:1: found no line below the header; want at least one`},
		{"rpm,peak_v\n0,0.2\n", 1, 1, `run.csv:1: found no column "threshold_v"; want the columns rpm and threshold_v`},
		{"speed,threshold_v\n0,0.2\n", 1, 1, `run.csv:1: found no column "rpm"; want the columns rpm and threshold_v`},
		{"rpm,threshold_v,rpm\n0,0.2,0\n", 1, 17, `run.csv:1: column "rpm": found the column again ("rpm", column 1 of the line); want it once`},
		{"rpm,threshold_v\n0,-0.2\n", 2, 3, `run.csv:2: column "threshold_v": found "-0.2"; want 0 or more`},
		{"rpm,threshold_v\n0,inf\n", 2, 3, `run.csv:2: column "threshold_v": found "inf"; want a finite number`},
		{"rpm,threshold_v\n-1,0.2\n", 2, 1, `run.csv:2: column "rpm": found "-1"; want an engine speed of 0 or more`},
		{"rpm,threshold_v\n,0.2\n", 2, 1, `run.csv:2: column "rpm": the cell is empty; want the engine speed`},
		{"rpm,threshold_v\n500\n", 2, 1, `run.csv:2: column "threshold_v": the cell is empty; want a threshold in every row`},
		{"rpm,threshold_v,sensor\n500,1,pump\n", 2, 7, `run.csv:2: column "sensor": found "pump"; want crank or cam`},
		{"rpm,threshold_v,sensor\n500,1,cam\n500,1,cam\n", 3, 0, `run.csv:3: column "rpm": found 500 rpm again, first in run.csv:2; want one row for each speed`},
		{"rpm,threshold_v\n0,0,2\n", 2, 5, `run.csv:2: found 3 cells; want 2, as in the header`},
		{"rpm,threshold_v\n500,0.6\n0,0.2\n500.0,0.7\n", 4, 0, `run.csv:4: column "rpm": found 500 rpm again, first in run.csv:2; want one row for each speed`},
	}
	for _, c := range cases {
		_, err := ReadTable(strings.NewReader(c.text), "run.csv", Dialect{})
		errs := lineErrors(t, err)
		if len(errs) != 1 || errs[0].Error() != c.message {
			t.Errorf("%q:\n got %v\nwant %s", c.text, err, c.message)
			continue
		}
		if errs[0].Pos.Line != c.line || errs[0].Pos.Column != c.column {
			t.Errorf("%q: at %d:%d; want %d:%d", c.text, errs[0].Pos.Line, errs[0].Pos.Column, c.line, c.column)
		}
	}
}

func TestParseTable(t *testing.T) {
	table, err := ParseTable("500=0.6, 0=0.2,3000 = 3.2", "--table")
	if err != nil {
		t.Fatal(err)
	}
	typed := func(row string) captures.Pos { return captures.Pos{File: "--table " + row} }
	want := TableFile{
		Rows:   []TableRow{{typed("0=0.2"), "", 0, 0.2}, {typed("500=0.6"), "", 500, 0.6}, {typed("3000 = 3.2"), "", 3000, 3.2}},
		ReadAs: "table typed out, 3 rows",
	}
	if diff := cmp.Diff(want, table); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestParseTableErrors(t *testing.T) {
	cases := []struct{ text, message string }{
		{"", `--table: found ""; want rpm=volts, such as 500=0.6, rows separated by commas`},
		{"0=0,2", `--table: found "2"; want rpm=volts, such as 500=0.6, rows separated by commas`},
		{"0=0.2,", `--table: found ""; want rpm=volts, such as 500=0.6, rows separated by commas`},
		{"x=0.2", `--table: found "x" in "x=0.2"; want a number`},
		{"500=0.6V", `--table: found "0.6V" in "500=0.6V"; want the bare number, without a unit`},
		{"500=2000", `--table: found "2000" in "500=2000"; want volts, up to 1000`},
		{"-5=0.6", `--table: found "-5" in "-5=0.6"; want an engine speed of 0 or more`},
		{"500=-0.6", "--table: found \"-0.6\" in \"500=-0.6\"; want 0 or more\nhint: a threshold is measured from the rest level towards the side the input arms on"},
		{"500=0.6,500=0.7", `--table 500=0.7: column "rpm": found 500 rpm again, first in --table 500=0.6; want one row for each speed`},
		{"500=nan,600=1_0", "--table: found \"nan\" in \"500=nan\"; want a finite number\n--table: found \"1_0\" in \"600=1_0\"; want a number without _"},
	}
	for _, c := range cases {
		if _, err := ParseTable(c.text, "--table"); err == nil || err.Error() != c.message {
			t.Errorf("%q:\n got %v\nwant %s", c.text, err, c.message)
		}
	}
}

// A table that is accepted reads back the same from a file and typed out, in
// rising order.
func FuzzTable(f *testing.F) {
	for _, seed := range []string{
		"rpm,threshold_v\n0,0.2\n500,0.6\n", "threshold_mv;rpm\n1,5;0\n", "rpm,threshold_v\n0,0.2\n0,0.3\n", "rpm,threshold_v\n1e3,.5\n",
		"sensor,rpm,threshold_v\ncam,0,1\n,0,2\n",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		table, err := ReadTable(strings.NewReader(text), "run.csv", Dialect{})
		if err != nil {
			checkPositions(t, text, err)
			return
		}
		rows := table.Of(table.Rows[0].Sensor)
		file := "rpm,threshold_v\n"
		var typed []string
		for i, row := range rows {
			if i > 0 && row.RPM <= rows[i-1].RPM {
				t.Fatalf("speeds not rising: %v", rows)
			}
			file += fmt.Sprintf("%v,%v\n", row.RPM, row.ThresholdV)
			typed = append(typed, fmt.Sprintf("%v=%v", row.RPM, row.ThresholdV))
		}
		fromFile, fileErr := ReadTable(strings.NewReader(file), "run.csv", Dialect{})
		fromText, textErr := ParseTable(strings.Join(typed, ","), "--table")
		if fileErr != nil || textErr != nil {
			t.Fatalf("reading back: %v, %v", fileErr, textErr)
		}
		for i, row := range rows {
			for _, back := range []TableRow{fromFile.Rows[i], fromText.Rows[i]} {
				if back.RPM != row.RPM || back.ThresholdV != row.ThresholdV {
					t.Errorf("row %v came back as %v", row, back)
				}
			}
		}
	})
}
