package csvfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"armcurve/captures"
)

// manyRows are rows enough to fill several blocks.
func manyRows(n int, line func(i int) string) string {
	var b strings.Builder
	b.WriteString("time,A\n")
	for i := range n {
		b.WriteString(line(i))
		b.WriteByte('\n')
	}
	return b.String()
}

func usualLine(i int) string {
	return fmt.Sprintf("%.6f,%.3f", float64(i)*1e-5, math.Sin(float64(i)/20))
}

// Each malformed file gives one error that names the place and what to do.
func TestMalformedRecordings(t *testing.T) {
	usual := manyRows(40, usualLine)
	tests := []struct {
		name, text string
		o          SamplesOptions
		want       string
	}{
		{"empty", "", SamplesOptions{}, "bad.csv: found an empty file; want a recording\nhint: export the recording again"},
		{"blank lines", "\n\n\n", SamplesOptions{}, "bad.csv: found no rows of numbers in 3 lines; want a recording, one row for each sample\nhint: export the samples themselves, not only the settings or a picture"},
		{"zeros", strings.Repeat("\x00", 1000), SamplesOptions{}, "bad.csv: found no rows of numbers in 0 lines; want a recording, one row for each sample\nhint: export the samples themselves, not only the settings or a picture"},
		{"header only", "time,A\n", SamplesOptions{}, "bad.csv: found no rows of numbers in 1 lines; want a recording, one row for each sample\nhint: export the samples themselves, not only the settings or a picture"},
		{"text", "Dear reader,\nthis is no recording.\n", SamplesOptions{}, "bad.csv: found no rows of numbers in 2 lines; want a recording, one row for each sample\nhint: export the samples themselves, not only the settings or a picture"},
		{"binary", "PK\x03\x04\x14\x00\x06\x00\x08\x02\x01\x03\x04\x05", SamplesOptions{}, "bad.csv: byte 2: found binary data; want numbers as text, or a WAV recording\nhint: export the recording as CSV"},
		{"one sample", "time,A\n0,1.5\n", SamplesOptions{}, "bad.csv:2: found one row; want a recording of many\nhint: export the whole recording, two turns of the engine or more"},
		{"one number", "1.5\n", SamplesOptions{SampleIntervalS: captures.Some(1e-5)}, "bad.csv:1: found one row; want a recording of many\nhint: export the whole recording, two turns of the engine or more"},
		{"time only", "time\n0.1\n0.2\n0.3\n", SamplesOptions{}, "bad.csv:2: found a column of time and no other numbers; want a channel's voltage\nhint: export the channel's samples beside the time"},
		{"time runs backwards", manyRows(40, func(i int) string { return usualLine(40 - i) }), SamplesOptions{},
			"bad.csv:3: column \"time\" runs backwards; want rising times\nhint: " + evenHint},
		{"time stands still", manyRows(40, func(i int) string { return "0.5,1.25" }), SamplesOptions{},
			"bad.csv:3: column \"time\" stands still; want rising times\nhint: " + evenHint},
		{"uneven steps", manyRows(40, func(i int) string { return fmt.Sprintf("%.6f,1.5", float64(i*i)*1e-5) }), SamplesOptions{},
			"bad.csv:3: column \"time\" has steps that differ; want a fixed step\nhint: " + evenHint},
		{"time runs back far behind", manyRows(30000, func(i int) string { return usualLine(i % 20000) }), SamplesOptions{},
			"bad.csv:20002: time runs back from 0.19999 s to 0 s; want one recording, not segments one after the other\nhint: cut the file there, one file for each segment"},
		{"time jumps far", manyRows(30000, func(i int) string { return usualLine(i + i/20000*1e9) }), SamplesOptions{},
			"bad.csv:20002: time jumps from 0.19999 s to 10000.2 s; want one recording without a break\nhint: cut the file there"},
		{"huge numbers", manyRows(40, func(i int) string { return usualLine(i) + "e300" }), SamplesOptions{},
			"bad.csv:3: column \"A\": found \"0.050e300\", the first of 39 of 40 lines that are no rows of numbers; want at most 1 %\nhint: export the recording again, a number in every cell and nothing but rows below the heading"},
		{"missing channel", usual, SamplesOptions{Channels: []string{"crank"}},
			"bad.csv: found no channel \"crank\"; want one of 1 \"A\"\nhint: choose with --channel, by name or number"},
		{"missing channel number", usual, SamplesOptions{Channels: []string{"2"}},
			"bad.csv: found no channel \"2\"; want one of 1 \"A\"\nhint: choose with --channel, by name or number"},
		{"a channel twice", strings.ReplaceAll(usual, "A", "A,B"), SamplesOptions{Channels: []string{"a", "1"}}, "bad.csv: channel \"1\" is wanted twice"},
		{"two channels of a name", "time,A,A\n0,1,2\n1e-5,2,1\n2e-5,3,2\n", SamplesOptions{Channels: []string{"A"}},
			"bad.csv: found 2 channels \"A\"; want one of 1 \"A\", 2 \"A\"\nhint: choose with --channel, by number"},
		{"several channels", "time,A [mV],B\n0,1.5,2\n1e-5,2,1\n2e-5,3,2\n", SamplesOptions{},
			"bad.csv: found 2 channels, 1 \"A\" (mV), 2 \"B\"; want to know which\nhint: choose with --channel, by name or number"},
		{"no interval", "A\n1.5\n2.5\n3.5\n", SamplesOptions{},
			"bad.csv: found neither a column of time nor a sample interval in the header\nhint: give --sample-interval, in seconds or as a rate such as 250kHz"},
		{"index without interval", "0,1.5\n1,2.5\n2,1.5\n3,1.5\n", SamplesOptions{},
			"bad.csv: found a column that numbers the samples, but no sample interval in the header\nhint: give --sample-interval, in seconds or as a rate such as 250kHz"},
		{"time without unit", "time,A\n0.0,1.5\n0.4,2.5\n0.8,1.5\n1.2,1.5\n", SamplesOptions{},
			"bad.csv:2: column \"time\" has no unit and its step is 0.4; want to know of what\nhint: give --time-unit s, ms, us or ns"},
		{"unknown unit of time", "time [h],A\n0.0,1.5\n0.4,2.5\n0.8,1.5\n1.2,1.5\n", SamplesOptions{},
			"bad.csv:2: column \"time\" is in \"h\"; want a unit of time\nhint: give --time-unit s, ms, us or ns"},
		{"not volts", "time,A [Pa]\n0.0,1.5\n1e-5,2.5\n2e-5,1.5\n3e-5,1.5\n", SamplesOptions{},
			"bad.csv:2: channel \"A\" is in \"Pa\"; want volts\nhint: give --volts-unit V, mV, uV or kV"},
		{"comma either way", "1,5\n2,5\n3,5\n4,5\n", SamplesOptions{},
			"bad.csv:3: found \"3,5\"; the comma may separate columns or be the decimal mark\nhint: give --delimiter , or --decimal ,"},
		{"comma both ways", "time,A\n0,00,1,5\n0,01,2,5\n0,02,3,5\n0,03,2,5\n", SamplesOptions{},
			"bad.csv:3: found 4 numbers under 2 names; commas seem to separate the columns and to be the decimal mark too\nhint: export with semicolons or tabs between the columns, or with decimal points"},
		{"counts", "Vertical scale,1.0 V/div\ntime,A\n0,-25\n1e-5,12\n2e-5,125\n3e-5,77\n", SamplesOptions{},
			"bad.csv:3: channel \"A\" has whole numbers only, and line 1 states vertical scale 1.0 V/div; want to know whether its numbers are volts or counts of the converter\nhint: give --volts-unit V if the numbers are volts, or --volts-times with the volts of one count"},
		{"counts by unit", "time,A (counts)\n0,-25\n1e-5,12\n2e-5,125\n3e-5,77\n", SamplesOptions{},
			"bad.csv:2: channel \"A\" is in counts; want to know whether its numbers are volts or counts of the converter\nhint: give --volts-unit V if the numbers are volts, or --volts-times with the volts of one count"},
		{"probe factor twice", "Probe attenuation,10X\ntime,A\n0,0.25\n1e-5,-0.5\n2e-5,0.125\n3e-5,0.25\n", SamplesOptions{VoltsTimes: 10},
			"bad.csv:1: found a probe factor of 10 in the header, and --volts-times is 10: the largest of the first samples is 0.5 V as written and 5 V multiplied; want to know which\nhint: leave out --volts-times if the numbers hold the probe factor; add --volts-unit V if they do not"},
		{"two times", "t1,A,t2,B\n0,1,0.3,2\n1e-5,1,0.30001,2\n2e-5,1,0.30002,2\n3e-5,1,0.30003,2\n", SamplesOptions{Channels: []string{"A", "B"}},
			"bad.csv:2: channels \"A\" and \"B\" were not sampled at the same times; want one time for both\nhint: read one channel at a time"},
		{"too many odd lines", manyRows(300, func(i int) string {
			if i%50 == 20 {
				return fmt.Sprintf("%.6f,bad", float64(i)*1e-5)
			}
			return usualLine(i)
		}), SamplesOptions{}, "bad.csv:22: column \"A\": found \"bad\", the first of 6 of 300 lines that are no rows of numbers; want at most 1 %\nhint: export the recording again, a number in every cell and nothing but rows below the heading"},
		{"binary after rows", manyRows(30000, usualLine) + strings.Repeat("\x80\x81", 200000), SamplesOptions{},
			"bad.csv:30002: found a line longer than 128 kB; want lines with one sample each\nhint: export the recording again, as text in rows"},
		{"unknown time unit", usual, SamplesOptions{TimeUnit: "furlong"}, "bad.csv: time unit is \"furlong\"; want s, ms, us or ns"},
		{"unknown volts unit", usual, SamplesOptions{VoltsUnit: "s"}, "bad.csv: volts unit is \"s\"; want V, mV, uV or kV"},
		{"negative interval", usual, SamplesOptions{SampleIntervalS: captures.Some(-1)}, "bad.csv: sample interval is -1 s; want more than 0"},
		{"gzip cut short", gzipped(manyRows(200000, usualLine))[:100000], SamplesOptions{}, "cannot read on: the packed data are damaged or cut short: unexpected EOF\nhint: copy or export the file again"},
		{"gzip header cut short", "\x1f\x8b\x08", SamplesOptions{}, "bad.csv: the packed data are damaged or cut short: unexpected EOF\nhint: copy or export the file again"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			err := readBad(strings.NewReader(test.text), test.o)
			if err == nil || err.Error() != test.want && !(strings.Contains(test.name, "gzip") && strings.HasSuffix(err.Error(), test.want)) {
				t.Errorf("gives\n%v\nwant\n%s", err, test.want)
			}
			var faults Errors
			if !errors.As(err, &faults) && !strings.Contains(test.name, "gzip") {
				t.Errorf("is no Errors: %T", err)
			}
		})
	}
}

// readBad reads a file to its end or its error.
func readBad(r io.Reader, o SamplesOptions) error {
	source, err := OpenSamples(r, "bad.csv", o)
	if err != nil {
		return err
	}
	defer source.Close()
	var b captures.Block
	for err == nil {
		err = source.Next(&b)
	}
	if err == io.EOF {
		return nil
	}
	return err
}

// kinds lists the findings' kinds and texts.
func kinds(found []captures.Finding) string {
	var list []string
	for _, finding := range found {
		list = append(list, finding.Kind+": "+finding.Text)
	}
	return strings.Join(list, "\n")
}

func TestOddCells(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	at := func(i int, cell string) string { return fmt.Sprintf("%.6f,%s", float64(i)*1e-5, cell) }
	tests := []struct {
		name  string
		lines map[int]string // instead of the usual one
		want  map[int]float64
		found string
	}{
		{"overflow", map[int]string{50: at(50, "inf"), 51: at(51, "-OL"), 52: at(52, "9.9E+37"), 53: at(53, "-9.9e37"), 54: at(54, "∞")},
			map[int]float64{50: inf, 51: -inf, 52: inf, 53: -inf, 54: inf},
			"clipped: bad.csv: 5 samples are marked as out of the instrument's range, 3 above and 2 below"},
		{"missing", map[int]string{50: at(50, ""), 51: at(51, "NaN"), 52: at(52, "---"), 53: at(53, "****"), 54: at(54, "9.91E37"), 55: at(55, " ")},
			map[int]float64{50: nan, 51: nan, 52: nan, 53: nan, 54: nan, 55: nan},
			"bad-cells: bad.csv: 6 cells are empty or stand for no number"},
		{"unreadable", map[int]string{50: at(50, "1.2.3"), 60: at(60, "1e400")}, map[int]float64{50: nan, 60: nan},
			`bad-cells: bad.csv:52: 2 of 400 lines could not be read in full, the first found "1.2.3"`},
		{"a row without its last cell", map[int]string{50: "0.000500"}, map[int]float64{50: nan},
			`bad-cells: bad.csv:52: 1 of 400 lines could not be read in full, the first found no such cell`},
		{"a row of words", map[int]string{50: "page,two"}, map[int]float64{50: nan},
			`bad-cells: bad.csv:52: 1 of 400 lines could not be read in full, the first found "page"` + "\n" +
				"dropout: bad.csv:53: 1 samples are missing in 1 gaps of the time, the first behind 0.00049 s"},
		{"an extra line of words", map[int]string{50: "page,two\n" + usualLine(50)}, nil,
			`bad-cells: bad.csv:52: 1 of 401 lines could not be read in full, the first found "page"`},
		{"comments and blank lines", map[int]string{50: "# page\n\n  \n" + usualLine(50)}, nil, ""},
		{"a time that cannot be", map[int]string{50: "7,0.5"}, map[int]float64{50: 0.5},
			"bad-cells: bad.csv: 1 times did not follow the one before and were not believed"},
		{"a time in words", map[int]string{50: "?,0.5"}, map[int]float64{50: 0.5},
			`bad-cells: bad.csv:52: 1 of 400 lines could not be read in full, the first found "?"`},
		{"no time", map[int]string{50: ",0.5"}, map[int]float64{50: 0.5}, ""},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			text := manyRows(400, func(i int) string {
				if line, is := test.lines[i]; is {
					return line
				}
				return usualLine(i)
			})
			_, wave, found, err := readNamed(text, "bad.csv")
			if err != nil {
				t.Fatal(err)
			}
			if len(wave) != 400 {
				t.Fatalf("%d samples", len(wave))
			}
			for i, v := range wave {
				want, is := test.want[i]
				if !is {
					want = math.Round(1e3*math.Sin(float64(i)/20)) / 1e3
				}
				if v != want && !(math.IsNaN(v) && math.IsNaN(want)) {
					t.Errorf("sample %d is %v, want %v", i, v, want)
				}
			}
			if kinds(found) != test.found {
				t.Errorf("finds\n%s\nwant\n%s", kinds(found), test.found)
			}
		})
	}
}

func readNamed(text, name string) (info captures.WaveInfo, wave []float64, found []captures.Finding, err error) {
	source, err := OpenSamples(strings.NewReader(text), name, SamplesOptions{})
	if err != nil {
		return info, nil, nil, err
	}
	var b captures.Block
	for err == nil {
		err = source.Next(&b)
		wave = append(wave, b.V[0]...)
	}
	if err == io.EOF {
		err = nil
	}
	return source.Info(), wave, source.Findings(), err
}

// A gap in the times becomes samples that are not numbers, wherever it lies
// among the blocks.
func TestGapsAreFilled(t *testing.T) {
	const rows = 40000
	for _, first := range []int{1, 5000, 8137, 8138, 8139, 20000, rows - 2} {
		skip := 37
		text := manyRows(rows, func(i int) string {
			if i >= first {
				i += skip
			}
			return usualLine(i)
		})
		_, wave, found, err := readNamed(text, "gap.csv")
		if err != nil {
			t.Fatal(err)
		}
		if len(wave) != rows+skip {
			t.Fatalf("gap at %d: %d samples, want %d", first, len(wave), rows+skip)
		}
		for i, v := range wave {
			inGap := i >= first && i < first+skip
			if want := math.Round(1e3*math.Sin(float64(i)/20)) / 1e3; inGap != math.IsNaN(v) || !inGap && v != want {
				t.Fatalf("gap at %d: sample %d is %v", first, i, v)
			}
		}
		want := fmt.Sprintf("dropout: gap.csv:%d: 37 samples are missing in 1 gaps of the time, the first behind %.6g s", first+2, float64(first-1)*1e-5)
		if kinds(found) != want {
			t.Errorf("finds\n%s\nwant\n%s", kinds(found), want)
		}
	}
}

// Coarse times say little in a few rows: the end of a file does, where it can
// be looked at.
func TestStepIsFoundFromTheWholeFile(t *testing.T) {
	const rows, step = 60000, 3.7123e-6
	text := manyRows(rows, func(i int) string { return fmt.Sprintf("%.5f,%.3f", step*float64(i), math.Sin(float64(i)/20)) })
	path := filepath.Join(t.TempDir(), "coarse.csv")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	for name, test := range map[string]struct {
		r      io.Reader
		within float64
	}{"file": {file, 1e-4}, "stream": {io.MultiReader(strings.NewReader(text)), 1e-3}} {
		info, wave, found, err := readSamples(test.r, SamplesOptions{})
		if err != nil || len(wave[0]) != rows || len(found) > one(name == "stream") {
			t.Fatalf("%s: %v, %d rows, %v", name, err, len(wave[0]), found)
		}
		if math.Abs(info.StepS/step-1) > test.within {
			t.Errorf("%s: step is %v, want %v", name, info.StepS, step)
		}
	}
}

// The samples do not depend on how many cores there are, on how the stream
// comes in, or on the run.
func TestSamplesAreTheSameEveryTime(t *testing.T) {
	text := manyRows(50000, func(i int) string {
		if i%999 == 500 {
			return "0,oops"
		}
		return usualLine(i)
	})
	var first []float64
	for i := range 4 {
		var r io.Reader = strings.NewReader(text)
		if i%2 == 1 {
			r = dribble{r}
		}
		_, wave, _, err := readSamples(r, SamplesOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			first = wave[0]
		}
		if !bytes.Equal(bitsOf(first), bitsOf(wave[0])) {
			t.Fatalf("run %d differs", i)
		}
	}
}

// dribble gives a stream in small pieces of differing size.
type dribble struct{ r io.Reader }

func (d dribble) Read(p []byte) (int, error) { return d.r.Read(p[:min(len(p), 1+len(p)%977)]) }

func bitsOf(values []float64) []byte {
	var b []byte
	for _, v := range values {
		b = fmt.Appendf(b, "%x ", math.Float64bits(v))
	}
	return b
}

// A crank and a cam channel come from one file, in the order asked for.
func TestTwoChannels(t *testing.T) {
	text := rows("time,A,D0,mV\n", func(i int, v float64) string {
		return fmt.Sprintf("%s,%s,%d,%s", f(timeOf(i), 9), f(v, 4), i%2, f(second(i)*1e3, 1))
	})
	info, wave, found, err := readSamples(strings.NewReader(text), SamplesOptions{Channels: []string{"3", " a "}, VoltsTimes: 10, Invert: true})
	if err != nil || len(found) > 0 {
		t.Fatal(err, found)
	}
	for i, v := range shapeWave() {
		if wave[0][i] != -10*second(i) || wave[1][i] != -10*v {
			t.Fatalf("sample %d is %v and %v, want %v and %v", i, wave[0][i], wave[1][i], -10*second(i), -10*v)
		}
	}
	want := []captures.Channel{{Name: "mV", Unit: "mV"}, {Name: "A"}}
	if fmt.Sprint(info.Channels) != fmt.Sprint(want) {
		t.Errorf("channels are %v, want %v", info.Channels, want)
	}
	const readAs = `recording in plain text, columns separated by comma, rows from line 2, time in s, no unit in the file, step 4 µs (250 kHz), ` +
		`channel "mV" in mV, channel "A" in V, no unit in the file, volts times -10, 600 rows`
	if info.ReadAs != readAs {
		t.Errorf("read as\n%s\nwant\n%s", info.ReadAs, readAs)
	}
}

// What the header says of the probe and the coupling is told.
func TestHeaderRemarks(t *testing.T) {
	header := "Coupling,AC\nA probe attenuation,10:1\nB probe,1X\n"
	text := header + rows("time,A,B\n", plainRow)
	for channel, want := range map[string]string{
		"A": "unit-doubt: wave.csv:2: the header notes a probe factor of 10; the numbers were taken as holding it\n" +
			"ac-coupled: wave.csv:1: the header says that the input was AC-coupled, which moves the rest level and makes slow teeth smaller",
		"B": "ac-coupled: wave.csv:1: the header says that the input was AC-coupled, which moves the rest level and makes slow teeth smaller",
	} {
		_, _, found, err := readSamples(strings.NewReader(text), SamplesOptions{Channels: []string{channel}})
		if err != nil || kinds(found) != want {
			t.Errorf("channel %s: %v\n%s", channel, err, kinds(found))
		}
	}
	_, wave, _, err := readSamples(strings.NewReader(text), SamplesOptions{Channels: []string{"A"}, VoltsTimes: 10, VoltsUnit: "V"})
	if err != nil || wave[0][5] != 10*shapeWave()[5] {
		t.Errorf("stated unit and factor: %v, %v", wave, err)
	}
}

// However the reading ends, no goroutine stays behind.
func TestNothingIsLeftRunning(t *testing.T) {
	before := runtime.NumGoroutine()
	usual := manyRows(60000, usualLine)
	for _, text := range []string{usual, usual + usual, usual + strings.Repeat("x", 1<<18)} {
		for _, blocks := range []int{1, 1000} {
			source, err := OpenSamples(strings.NewReader(text), "run.csv", SamplesOptions{})
			if err != nil {
				t.Fatal(err)
			}
			var b captures.Block
			for range blocks {
				if source.Next(&b) != nil {
					break
				}
			}
			source.Close()
			source.Close()
		}
	}
	for range 100 {
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("%d goroutines, %d before", runtime.NumGoroutine(), before)
}
