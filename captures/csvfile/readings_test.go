package csvfile

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"armcurve/captures"
)

func readings(t *testing.T, text string) ReadingsFile {
	t.Helper()
	file, err := ReadReadings(strings.NewReader(text), "run.csv", ReadingsOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return file
}

func lineErrors(t *testing.T, err error) Errors {
	t.Helper()
	var errs Errors
	if !errors.As(err, &errs) || len(errs) == 0 {
		t.Fatalf("got error %v; want Errors", err)
	}
	return errs
}

func at(line int) captures.Pos { return captures.Pos{File: "run.csv", Line: line} }

var some = captures.Some

func TestReadEveryColumn(t *testing.T) {
	file := readings(t, `# taken on a cold day
RPM, Peak_V ,weakest_mv,peak_sd_v,noise_v,noise_rms_v,noise_rate_hz,noise_record_s,tone_v,spike_v,hump_v,teeth_measured,ripple,clipped,sensor,condition,note,x_own

"# a comment, kept by a spreadsheet",,
200,1.9,1500,0.02,0.3,0.1,15000,2.5,0.05,0.2,0.15,70,0.35,Yes,CAM,connected,"two
  lines, quoted",anything
0,,,,0.04
`)
	want := []captures.Reading{
		{
			Pos: at(5), Sensor: captures.Cam, RPM: 200,
			PeakV: some(1.9), WeakestV: some(1.5), PeakSDV: some(0.02),
			NoiseV: some(0.3), NoiseRMSV: some(0.1), NoiseRateHz: some(15000), NoiseRecordS: some(2.5),
			ToneV: some(0.05), SpikeV: some(0.2), HumpV: some(0.15),
			TeethMeasured: some(70), Ripple: some(0.35), Clipped: true,
			Condition: "connected", Note: "two lines, quoted",
		},
		{Pos: at(7), Sensor: captures.Crank, NoiseV: some(0.04)},
	}
	if diff := cmp.Diff(want, file.Readings); diff != "" {
		t.Errorf("readings (-want +got):\n%s", diff)
	}
	if file.Quantity != captures.Peak || file.ReadAs != "readings, 2 lines, millivolts in weakest_mv" || file.Findings != nil {
		t.Errorf("got %v, %q, %v; want the peak, two lines, millivolts in one column, no findings", file.Quantity, file.ReadAs, file.Findings)
	}
}

// The same three readings, however a program or an instrument wrote them.
func TestFileShapes(t *testing.T) {
	const plain = "rpm,peak_v,weakest_v\n300,1.5,1.25\n1000,5,\n3000,9.5,8\n"
	want := readings(t, plain).Readings
	utf16 := func(text string, order string) string {
		var b strings.Builder
		for _, r := range text {
			pair := []byte{byte(r), byte(r >> 8)}
			if order == "big" {
				pair[0], pair[1] = pair[1], pair[0]
			}
			b.Write(pair)
		}
		return b.String()
	}
	comma := strings.NewReplacer(",", ";", ".", ",")
	shapes := map[string]struct{ text, readAs string }{
		"byte order mark":       {"\ufeff" + plain, "readings, 3 lines"},
		"CRLF":                  {strings.ReplaceAll(plain, "\n", "\r\n"), "readings, 3 lines"},
		"lone CR":               {strings.ReplaceAll(plain, "\n", "\r"), "readings, 3 lines"},
		"no last line end":      {strings.TrimSpace(plain), "readings, 3 lines"},
		"semicolons":            {strings.ReplaceAll(plain, ",", ";"), "readings, 3 lines, columns separated by semicolon"},
		"decimal comma":         {comma.Replace(plain), "readings, 3 lines, columns separated by semicolon, decimal comma"},
		"tabs":                  {strings.ReplaceAll(plain, ",", "\t"), "readings, 3 lines, columns separated by tab"},
		"tabs, decimal comma":   {strings.ReplaceAll(comma.Replace(plain), ";", "\t"), "readings, 3 lines, columns separated by tab, decimal comma"},
		"UTF-16 little endian":  {utf16("\ufeff"+plain, "little"), "readings, 3 lines"},
		"UTF-16 big endian":     {utf16("\ufeff"+plain, "big"), "readings, 3 lines"},
		"UTF-16 without a mark": {utf16(plain, "little"), "readings, 3 lines"},
		"UTF-16 big, no mark":   {utf16(plain, "big"), "readings, 3 lines"},
		"trailing delimiters":   {strings.ReplaceAll(plain, "\n", ",,,\n"), "readings, 3 lines"},
		"empty rows":            {strings.ReplaceAll(plain, "\n", "\n,,\n \n\n"), "readings, 3 lines"},
		"quoted":                {`"rpm","peak_v","weakest_v"` + "\n" + `"300","1.5","1.25"` + "\n1000,5\n3000,9.5,8", "readings, 3 lines"},
		"spaces":                {strings.ReplaceAll(plain, ",", " , "), "readings, 3 lines"},
		"exponents, plus signs": {"rpm,peak_v,weakest_v\n3e2,+1.5,1.25e0\n1000,5.,\n3000,9.5,80E-1\n", "readings, 3 lines"},
		"millivolts":            {"rpm,peak_mv,weakest_mv\n300,1500,1250\n1000,5000,\n3000,9500,8000\n", "readings, 3 lines, millivolts in peak_mv, weakest_mv"},
	}
	for name, shape := range shapes {
		t.Run(name, func(t *testing.T) {
			file := readings(t, shape.text)
			ignorePos := cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".Pos" }, cmp.Ignore())
			if diff := cmp.Diff(want, file.Readings, ignorePos); diff != "" {
				t.Errorf("readings (-want +got):\n%s", diff)
			}
			if file.ReadAs != shape.readAs {
				t.Errorf("read as %q; want %q", file.ReadAs, shape.readAs)
			}
		})
	}
}

func TestLatin1Note(t *testing.T) {
	file := readings(t, "rpm,peak_v,note\n300,1.5,20 \xb0C, cold\n"[:len("rpm,peak_v,note\n300,1.5,20 \xb0C")])
	if got := file.Readings[0].Note; got != "20 °C" {
		t.Errorf("note is %q; want %q", got, "20 °C")
	}
}

func TestPeakConversions(t *testing.T) {
	pp := readings(t, "rpm,peak_to_peak_v,weakest_v\n300,5,2.25\n")
	if got := pp.Readings[0]; got.PeakV != some(2.5) || got.WeakestV != some(2.25) || got.ReadAs != captures.PeakToPeak || pp.Quantity != captures.PeakToPeak {
		t.Errorf("peak-to-peak read as %+v", got)
	}
	if pp.ReadAs != "readings, 1 line, peak_to_peak_v halved" {
		t.Errorf("read as %q", pp.ReadAs)
	}
	rms := readings(t, "rpm,rms_mv\n300,2000\n")
	if got := rms.Readings[0]; got.PeakV != some(2*math.Sqrt2) || got.ReadAs != captures.RMS {
		t.Errorf("rms read as %+v", got)
	}
	if rms.ReadAs != "readings, 1 line, rms_mv × √2, millivolts in rms_mv" {
		t.Errorf("read as %q", rms.ReadAs)
	}
}

func TestVoltsTimes(t *testing.T) {
	text := "rpm,peak_v,weakest_v,peak_sd_v,noise_v,noise_rms_v,noise_rate_hz,noise_record_s,tone_v,spike_v,hump_v,teeth_measured,ripple,peak_rpm\n" +
		"300,2,1.5,0.25,0.5,0.125,900,3,0.25,0.75,1,40,0.5,310\n"
	file, err := ReadReadings(strings.NewReader(text), "run.csv", ReadingsOptions{VoltsTimes: 10})
	if err != nil {
		t.Fatal(err)
	}
	want := captures.Reading{
		Pos: at(2), Sensor: captures.Crank, RPM: 300,
		PeakV: some(20), WeakestV: some(15), PeakSDV: some(2.5), NoiseV: some(5), NoiseRMSV: some(1.25),
		ToneV: some(2.5), SpikeV: some(7.5), HumpV: some(10),
		NoiseRateHz: some(900), NoiseRecordS: some(3), TeethMeasured: some(40), Ripple: some(0.5), PeakRPM: some(310),
	}
	if diff := cmp.Diff(want, file.Readings[0]); diff != "" {
		t.Errorf("reading (-want +got):\n%s", diff)
	}
}

func TestForcedDialect(t *testing.T) {
	for _, c := range []struct {
		text    string
		dialect Dialect
		want    float64
	}{
		{"rpm;peak_v\n300;1,5\n", Dialect{Delimiter: ';', Decimal: ','}, 1.5},
		{"rpm,peak_v\n300,\"1,5\"\n", Dialect{Decimal: ','}, 1.5},
		{"rpm;peak_v\n1.000;1.500\n", Dialect{Decimal: '.'}, 1.5},
	} {
		file, err := ReadReadings(strings.NewReader(c.text), "run.csv", ReadingsOptions{Dialect: c.dialect})
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if got := file.Readings[0].PeakV; got != some(c.want) {
			t.Errorf("%q: peak is %v; want %v", c.text, got, c.want)
		}
	}
}

func TestReadingErrors(t *testing.T) {
	const head = "rpm,peak_v,weakest_v,noise_v,noise_rate_hz,noise_record_s,teeth_measured,ripple,clipped,sensor\n"
	cases := []struct {
		text         string
		line, column int
		message      string
	}{
		// The file.
		{"", 1, 1, `run.csv:1: found no text; want a first line with the names of the columns`},
		{"# only a comment\n\n", 1, 1, `run.csv:1: found no text; want a first line with the names of the columns`},
		{"\x00\x01\x00\x00\x02", 1, 1, `run.csv:1: found bytes that are not text; want text in UTF-8, UTF-16 or Latin-1`},
		{"300,1.5\n1000,5\n", 1, 1, `run.csv:1: found numbers in the first line; want the names of the columns there, such as rpm,peak_v`},
		{"\n# x\nrpm,peak_v\n", 3, 1, `run.csv:3: found no line below the header; want at least one`},
		{"rpm,peak_v,note\n300,1.5,6\" lead\n", 2, 10, `run.csv:2: found a quote inside a cell; want the whole cell in quotes, quotes inside it doubled`},
		{"rpm,peak_v,note\n300,1.5,\"open\n", 2, 15, `run.csv:2: found a quote that is not closed, or text after a closing quote; want a whole cell in quotes`},

		// The header.
		{"rpm,peek_v\n300,1.5\n", 1, 5, `run.csv:1: found a column "peek_v"; did you mean peak_v? (columns of your own start with x_)`},
		{"rpm,Vpp\n300,1.5\n", 1, 5, `run.csv:1: found a column "Vpp"; did you mean peak_to_peak_v? (columns of your own start with x_)`},
		{"rpm,volts\n300,1.5\n", 1, 5, `run.csv:1: found a column "volts"; did you mean peak_v, peak_to_peak_v or rms_v? (columns of your own start with x_)`},
		{"rpm,peak_v,oil temperature\n300,1.5,90\n", 1, 12, `run.csv:1: found a column "oil temperature"; want the name of a known column, or one that starts with x_ for your own`},
		{"rpm,,peak_v\n300,1.5\n", 1, 5, `run.csv:1: found no name for column 2; want one for every column`},
		{"rpm,peak_v,peak_to_peak_v\n300,1.5,3\n", 1, 1, `run.csv:1: found peak_v and peak_to_peak_v; want one of peak_v, peak_to_peak_v, rms_v: keep what was read off the instrument`},
		{"rpm,rms_mv,peak_v,noise_v\n300,1.5,3\n", 1, 1, `run.csv:1: found rms_mv and peak_v; want one of peak_v, peak_to_peak_v, rms_v: keep what was read off the instrument`},
		{"rpm,peak_v,RPM\n300,1.5,3\n", 1, 12, `run.csv:1: column "rpm": found the column again ("rpm", column 1 of the line); want it once`},
		{"rpm,peak_v,peak_mv\n300,1.5,3\n", 1, 12, `run.csv:1: column "peak_mv": found the column again ("peak_v", column 5 of the line); want it once`},
		{"peak_v\n1.5\n", 1, 1, `run.csv:1: found no column "rpm"; want the engine speed of every line`},
		{"rpm,note\n300,x\n", 1, 1, `run.csv:1: found no column with the signal; want one of peak_v, peak_to_peak_v, rms_v (or one with the noise: noise_v, noise_rms_v)`},

		// Numbers.
		{head + "300,\"1,9\"\n", 2, 5, `run.csv:2: column "peak_v": found "1,9"; want a number with a decimal point`},
		{head + "300,1_000\n", 2, 5, `run.csv:2: column "peak_v": found "1_000"; want a number without _`},
		{head + "300,0x1p4\n", 2, 5, `run.csv:2: column "peak_v": found "0x1p4"; want a decimal number`},
		{head + "300,1.9V\n", 2, 5, `run.csv:2: column "peak_v": found "1.9V"; want the bare number, without a unit`},
		{head + "300,1.9 mV\n", 2, 5, `run.csv:2: column "peak_v": found "1.9 mV"; want the bare number, without a unit`},
		{head + "300,1.9.2\n", 2, 5, `run.csv:2: column "peak_v": found "1.9.2"; want a number with one decimal mark`},
		{head + "1 000,1.9\n", 2, 1, `run.csv:2: column "rpm": found "1 000"; want a number without spaces`},
		{"rpm;peak_v\n300;1,5\n500;1,9,2\n", 3, 5, `run.csv:3: column "peak_v": found "1,9,2"; want a number with one decimal mark`},
		{head + "300,nan\n", 2, 5, `run.csv:2: column "peak_v": found "nan"; want a finite number, or an empty cell where it was not measured`},
		{head + "-Inf,1.9\n", 2, 1, `run.csv:2: column "rpm": found "-Inf"; want a finite number`},
		{head + "300,1e400\n", 2, 5, `run.csv:2: column "peak_v": found "1e400"; want a finite number, or an empty cell where it was not measured`},
		{head + "300,OL\n", 2, 5, `run.csv:2: column "peak_v": found "OL"; want a number, or an empty cell where it was not measured`},
		{head + "300,--1\n", 2, 5, `run.csv:2: column "peak_v": found "--1"; want a number, or an empty cell where it was not measured`},
		{head + "300,.\n", 2, 5, `run.csv:2: column "peak_v": found "."; want a number, or an empty cell where it was not measured`},
		{head + "300,1e\n", 2, 5, `run.csv:2: column "peak_v": found "1e"; want the bare number, without a unit`},
		{"rpm;peak_v\n300;1,5\n500;1.9\n", 3, 5, `run.csv:3: column "peak_v": found "1.9"; want a number with a decimal comma, as elsewhere in the file`},
		{"rpm;peak_v\n300;1.5\n500;1,9\n", 3, 5, `run.csv:3: column "peak_v": found "1,9"; want a number with a decimal point`},
		{"rpm;peak_v\n500;1\n1.000;2\n", 3, 1, `run.csv:3: column "rpm": found "1.000"; want an engine speed in rpm without a mark between thousands`},
		{"rpm\tpeak_v\n500\t1\n12,500\t2\n", 3, 1, `run.csv:3: column "rpm": found "12,500"; want an engine speed in rpm without a mark between thousands`},

		// Ranges.
		{head + "-300,1.9\n", 2, 1, `run.csv:2: column "rpm": found "-300"; want an engine speed of 0 or more`},
		{head + "0.5,1.9\n", 2, 1, `run.csv:2: column "rpm": found "0.5"; want an engine speed in rpm: 0, or 1 and more`},
		{head + "36000,1.9\n", 2, 1, `run.csv:2: column "rpm": found "36000"; want an engine speed in rpm, up to 30000`},
		{head + "300,-1.9\n", 2, 5, `run.csv:2: column "peak_v": found "-1.9"; want 0 or more`},
		{head + "300,0\n", 2, 5, `run.csv:2: column "peak_v": found "0"; want more than 0, or an empty cell where it was not measured`},
		{head + "300,1900\n", 2, 5, `run.csv:2: column "peak_v": found "1900"; want volts, up to 1000`},
		{head + "300,1.9,,-0.1\n", 2, 10, `run.csv:2: column "noise_v": found "-0.1"; want 0 or more`},
		{head + "300,1.9,,0.1,0\n", 2, 14, `run.csv:2: column "noise_rate_hz": found "0"; want more than 0, or an empty cell where it is not known`},
		{head + "300,1.9,,0.1,,-2\n", 2, 15, `run.csv:2: column "noise_record_s": found "-2"; want more than 0, or an empty cell where it is not known`},
		{head + "300,1.9,,,,,2.5\n", 2, 13, `run.csv:2: column "teeth_measured": found "2.5"; want a whole number of teeth, 1 or more`},
		{head + "300,1.9,,,,,,40\n", 2, 14, `run.csv:2: column "ripple": found "40"; want a part of 1, from 0 to 1: 40 % is 0.4`},
		{head + "300,1.9,,,,,,40%\n", 2, 14, `run.csv:2: column "ripple": found "40%"; want the bare number, a part of 1: 40 % is 0.4`},
		{head + "300,1.9,,,,,,,maybe\n", 2, 15, `run.csv:2: column "clipped": found "maybe"; want yes, no or an empty cell`},
		{head + "300,1.9,,,,,,,,left\n", 2, 16, `run.csv:2: column "sensor": found "left"; want crank or cam`},

		// Whole lines.
		{head + ",1.9\n", 2, 1, `run.csv:2: column "rpm": the cell is empty; want the engine speed`},
		{head + "300\n", 2, 1, `run.csv:2: found neither a peak nor a noise; want one of them on every line`},
		{head + "0,1.9\n", 2, 1, `run.csv:2: found a tooth voltage at 0 rpm; want only noise at standstill`},
		{head + "300,1.9,2\n", 2, 9, `run.csv:2: column "weakest_v": found 2 V, above the peak of 1.9 V; want the lowest tooth, at most the mean of all`},
		{"rpm,weakest_mv,peak_to_peak_v\n300,1900,3\n", 2, 5, `run.csv:2: column "weakest_mv": found 1.9 V, above the peak of 1.5 V (from peak-to-peak); want the lowest tooth, at most the mean of all`},
		{"rpm,peak_v,peak_rpm\n300,1,0\n", 2, 7, `run.csv:2: column "peak_rpm": found "0"; want an engine speed above 0, or an empty cell where it is not known`},
		{"rpm,peak_v,peak_rpm\n300,1,610\n", 2, 7, `run.csv:2: column "peak_rpm": found 610 beside 300 rpm; want the mean of the speeds at which the measured teeth passed, which is near rpm`},
		{"rpm,peak_v\n300,1,9\n", 2, 7, `run.csv:2: found 3 cells; want 2, as in the header`},
	}
	for _, c := range cases {
		_, err := ReadReadings(strings.NewReader(c.text), "run.csv", ReadingsOptions{})
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

func TestEveryBadLineIsReported(t *testing.T) {
	text := "rpm,peak_v\n" + strings.Repeat("300,-1\n500,2\n", 6) + strings.Repeat("700,1V\n", 7)
	_, err := ReadReadings(strings.NewReader(text), "run.csv", ReadingsOptions{})
	want := `run.csv:2: column "peak_v": found "-1"; want 0 or more
run.csv:4: column "peak_v": found "-1"; want 0 or more
run.csv:6: column "peak_v": found "-1"; want 0 or more
run.csv:8: column "peak_v": found "-1"; want 0 or more
run.csv:10: column "peak_v": found "-1"; want 0 or more
run.csv:12: column "peak_v": found "-1"; want 0 or more
run.csv:14: column "peak_v": found "1V"; want the bare number, without a unit
run.csv:15: column "peak_v": found "1V"; want the bare number, without a unit
run.csv:16: column "peak_v": found "1V"; want the bare number, without a unit
run.csv:17: column "peak_v": found "1V"; want the bare number, without a unit
… and 3 more
hint: read the height above the rest level on the side the input arms on; if that side is the lower one, check the polarity of the wires`
	if err == nil || err.Error() != want {
		t.Errorf("got:\n%v\nwant:\n%s", err, want)
	}
}

// A line that cannot be cut into cells ends the file, but what is wrong before
// it is still told.
func TestErrorsBeforeABrokenQuote(t *testing.T) {
	_, err := ReadReadings(strings.NewReader("rpm,peak_v,note\n-300,1\n500,2,\"x\n"), "run.csv", ReadingsOptions{})
	errs := lineErrors(t, err)
	if len(errs) != 2 || errs[0].Pos.Line != 2 || errs[1].Pos.Line != 3 {
		t.Errorf("got %v; want an error in line 2 and one in line 3", err)
	}
}

func TestTooLargeFile(t *testing.T) {
	_, err := ReadReadings(strings.NewReader(strings.Repeat("rpm,peak_v\n", maxSheetBytes/10)), "run.csv", ReadingsOptions{})
	if want := "run.csv:1: found more than 16 MB; want a list of a few lines"; err == nil || err.Error() != want {
		t.Errorf("got %v; want %s", err, want)
	}
}

func TestFindings(t *testing.T) {
	cases := []struct {
		name, text string
		want       []string
	}{
		{"rising", "300,1\n300,1.1\n500,2\n", nil},
		{"falling", "500,2\n300,1\n", nil},
		{"standstill last", "300,1\n500,2\n0,,0.1\n", nil},
		{"two sensors", "300,1\n500,2\n300,1,,,cam\n500,2,,,cam\n", nil},
		{"two conditions", "300,1,,,,unplugged\n500,2,,,,unplugged\n300,1\n500,2\n", nil},
		{"turned", "300,1\n5000,2\n700,3\n900,4\n600,3\n", []string{"unordered: the speeds are not in order: at run.csv:4 they turn down, from 5000 to 700 rpm"}},
		{"duplicate", "300,1\n500,2\n300,1.0\n", []string{
			"duplicate: run.csv:4 is the same as run.csv:2 and was counted once",
			"unordered: the speeds are not in order: at run.csv:4 they turn down, from 500 to 300 rpm",
		}},
		{"zero noise", "300,1,0\n500,2,,0\n", []string{"zero-noise: the noise is given as 0 V, which no input is free of: run.csv:2, run.csv:3"}},
		{"noise contradicts", "300,1,0.1,0.3\n", []string{"contradictory-noise: noise_rms_v is above noise_v, the largest seen: run.csv:2"}},
	}
	for _, c := range cases {
		file := readings(t, "rpm,peak_v,noise_v,noise_rms_v,sensor,condition\n"+c.text)
		var got []string
		for _, f := range file.Findings {
			got = append(got, f.Kind+": "+f.Text)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

func TestDistinctAcrossFiles(t *testing.T) {
	a := captures.Reading{Pos: captures.Pos{File: "a.csv", Line: 2}, RPM: 300, PeakV: some(1)}
	b := a
	b.Pos = captures.Pos{File: "b.csv", Line: 9}
	other := b
	other.Note = "again"
	got, findings := Distinct([]captures.Reading{a, b, other})
	if diff := cmp.Diff([]captures.Reading{a, other}, got); diff != "" {
		t.Errorf("readings (-want +got):\n%s", diff)
	}
	if len(findings) != 1 || findings[0].Text != "b.csv:9 is the same as a.csv:2 and was counted once" {
		t.Errorf("findings: %v", findings)
	}
}

func TestNearest(t *testing.T) {
	for name, want := range map[string]string{
		"peak": "peak_v", "rp": "rpm", "weekest_v": "weakest_v", "NOISE": "noise_v", "tooth_measured": "teeth_measured", "temperature": "", "": "",
	} {
		if got := Nearest(name, fieldNames()); got != want {
			t.Errorf("Nearest(%q) = %q; want %q", name, got, want)
		}
	}
}
