package csvfile

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"armcurve/captures"
)

// The wave that every shape of file holds: four decimals, so that all of them
// can write it exactly.
const (
	shapeRows  = 600
	shapeStep  = 4e-6
	shapeStart = -0.0008
)

func shapeWave() []float64 {
	wave := make([]float64, shapeRows)
	for i := range wave {
		v := 2.5*math.Sin(2*math.Pi*float64(i)/97) + 0.4*math.Sin(2*math.Pi*float64(i)/31) + 0.0123
		wave[i] = math.Round(v*1e4) / 1e4
	}
	return wave
}

// second is another channel, which no reader should mistake for the first.
func second(i int) float64 { return math.Round(1e4*0.3*math.Cos(float64(i)/7)) / 1e4 }

func timeOf(i int) float64 { return math.Round((shapeStart+shapeStep*float64(i))*1e9) / 1e9 }

func f(v float64, decimals int) string { return strconv.FormatFloat(v, 'f', decimals, 64) }

// rows writes a line for every sample.
func rows(header string, line func(i int, v float64) string) string {
	var b strings.Builder
	b.WriteString(header)
	for i, v := range shapeWave() {
		b.WriteString(line(i, v))
		b.WriteByte('\n')
	}
	return b.String()
}

func comma(text string) string { return strings.ReplaceAll(text, ".", ",") }

func utf16Of(text string, order binary.AppendByteOrder, mark bool) string {
	var b []byte
	if mark {
		b = order.AppendUint16(b, 0xFEFF)
	}
	for _, u := range utf16.Encode([]rune(text)) {
		b = order.AppendUint16(b, u)
	}
	return string(b)
}

func gzipped(text string) string {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	io.WriteString(z, text)
	z.Close()
	return b.String()
}

type shape struct {
	name string
	text string
	o    SamplesOptions
	// startless tells that the file does not say when it begins.
	startless bool
	start     float64                     // expected; the wave's own where it is 0
	same      func(i int, v float64) bool // equality where it is nil
}

func plainRow(i int, v float64) string {
	return f(timeOf(i), 9) + "," + f(v, 4) + "," + f(second(i), 4)
}

func shapes() []shape {
	a := SamplesOptions{Channels: []string{"a"}}
	plain := rows("time,A,B\n", plainRow)
	stepped := SamplesOptions{SampleIntervalS: captures.Some(shapeStep)}
	stamp := func(layout string, i int) string {
		at := time.Date(2024, 5, 1, 12, 0, 0, 0, time.UTC).Add(time.Duration(4000*i) * time.Nanosecond)
		return at.Format(layout)
	}
	return []shape{
		{name: "1 time in seconds", text: plain, o: a},
		{name: "1 no header", text: rows("", func(i int, v float64) string { return f(timeOf(i), 9) + "," + f(v, 4) })},
		{name: "1 channel by number", text: plain, o: SamplesOptions{Channels: []string{"1"}}},
		{name: "2 ms and a unit row", text: rows("Time;Channel A;Channel B\n(ms);(V);(mV)\n\n", func(i int, v float64) string {
			return comma(f(timeOf(i)*1e3, 6) + ";" + f(v, 4) + ";" + f(second(i)*1e3, 1))
		}), o: SamplesOptions{Channels: []string{"Channel A"}}},
		{name: "2 units in brackets", text: rows("Time [us],A [mV]\n", func(i int, v float64) string {
			return f(timeOf(i)*1e6, 1) + "," + f(v*1e3, 1)
		})},
		{name: "2 ns and kV", text: rows("t / ns\tA / kV\n", func(i int, v float64) string {
			return f(timeOf(i)*1e9, 0) + "\t" + f(v/1e3, 7)
		})},
		{name: "2 time unit stated", text: rows("time,A\n", func(i int, v float64) string {
			return f(timeOf(i)*1e3, 6) + "," + f(v, 4)
		}), o: SamplesOptions{TimeUnit: "ms"}},
		{name: "3 interval in the preamble", text: rows("Model,X1\nRecord Length,600\nSample Interval,4.0E-06\nStart,-8.0E-04\nVertical Units,V\n\nA\n", func(i int, v float64) string {
			return f(v, 4)
		})},
		{name: "3 interval with a unit cell", text: rows("Sampling period;4,0;us\nt0;-0,8;ms\nVolt\n", func(i int, v float64) string {
			return comma(f(v, 4))
		})},
		{name: "3 rate in the preamble", text: rows("# sample rate: 250 kS/s\n# start = -0.0008\n", func(i int, v float64) string { return f(v, 4) })},
		{name: "3 extra cells in the header", text: rows("X,CH1,Start,Increment\nSequence,Volt,-8.0E-04,4.0E-06\n", func(i int, v float64) string {
			return strconv.Itoa(i) + "," + f(v, 4) + ",,"
		})},
		{name: "4 index column", text: rows("sample,A\n", func(i int, v float64) string { return strconv.Itoa(i+1) + "," + f(v, 4) }), o: stepped},
		{name: "4 index and preamble", text: rows("Sample rate,250000\nStart,-0.0008\nno,A\n", func(i int, v float64) string { return strconv.Itoa(i) + "," + f(v, 4) })},
		{name: "5 coarse time", text: rows("time_s,A\n", func(i int, v float64) string { return f(timeOf(i), 5) + "," + f(v, 4) })},
		{name: "5 six digits", text: rows("time_s,A\n", func(i int, v float64) string {
			return strconv.FormatFloat(1+timeOf(i), 'e', 4, 64) + "," + f(v, 4)
		}), start: 0.9992},
		{name: "6 lowest and highest", text: pairRows(), same: eitherOfPair},
		{name: "7 interleaved times", text: interleaved(), o: SamplesOptions{Channels: []string{"B"}}},
		{name: "9 date and time", text: rows("timestamp,A\n", func(i int, v float64) string { return stamp("2006-01-02T15:04:05.000000Z", i) + "," + f(v, 4) }), start: 43200},
		{name: "9 local date, comma", text: rows("Zeit;A\n", func(i int, v float64) string {
			return stamp("02.01.2006 15:04:05,000000", i) + ";" + comma(f(v, 4))
		}), start: 43200},
		{name: "9 elapsed", text: rows("elapsed,A\n", func(i int, v float64) string { return stamp("15:04:05.000000", i) + "," + f(v, 4) }), start: 43200},
		{name: "9 epoch ms", text: rows("timestamp,A\n", func(i int, v float64) string {
			return f(1714564800000+float64(i)*0.004, 3) + "," + f(v, 4)
		}), start: 43200},
		{name: "10 one line", text: oneLine10(","), o: stepped},
		{name: "10 one line of decimal commas", text: comma(oneLine10(";")), o: stepped},
		{name: "10 one column", text: rows("", func(i int, v float64) string { return f(v, 4) }), o: stepped},
		{name: "11 preamble and names", text: preamble() + plain, o: a},
		{name: "12 header beside the data", text: beside(f(9, 1), func(i int) string { return f(timeOf(i), 9) })},
		{name: "12 header beside a lone channel", text: beside("4.0E-06", func(int) string { return "" }), o: SamplesOptions{Channels: []string{"1"}}, startless: true},
		{name: "13 comment lines", text: "# scope of nobody\n% sample=none\n\"remark\"\n; more\n" + plain, o: a},
		{name: "13 names in a comment", text: "# made by hand\n# " + plain, o: a},
		{name: "15 counts", text: rows("Vertical scale,1.0\nA [counts]\n", func(i int, v float64) string { return f(v*1e4, 0) }),
			o:    SamplesOptions{VoltsTimes: 1e-4, SampleIntervalS: captures.Some(shapeStep)},
			same: func(i int, v float64) bool { return math.Abs(v-shapeWave()[i]) < 1e-15 }}, // a product is rounded
		{name: "16 tabs", text: strings.ReplaceAll(plain, ",", "\t"), o: a},
		{name: "16 bars", text: strings.ReplaceAll(plain, ",", "|"), o: a},
		{name: "16 spaces", text: rows("   time   A    B\n", func(i int, v float64) string {
			return fmt.Sprintf("  %14s %9s   %9s", f(timeOf(i), 9), f(v, 4), f(second(i), 4))
		}), o: a},
		{name: "16 spaces behind commas", text: strings.ReplaceAll(plain, ",", ", "), o: a},
		{name: "16 decimal comma, tabs", text: comma(strings.ReplaceAll(plain, ",", "\t")), o: a},
		{name: "16 quoted decimal commas", text: rows("\"time\",\"A\",\"B\"\n", func(i int, v float64) string {
			return `"` + comma(f(timeOf(i), 9)) + `","` + comma(f(v, 4)) + `","` + comma(f(second(i), 4)) + `"`
		}), o: a},
		{name: "16 trailing delimiter", text: strings.ReplaceAll(plain, "\n", ",\n"), o: a},
		{name: "16 thousands", text: rows("time [ns];A [mV]\n", func(i int, v float64) string {
			return f(timeOf(i)*1e9, 0) + ";" + grouped(f(v*1e3, 1))
		})},
		{name: "17 scientific", text: rows("time,A\n", func(i int, v float64) string {
			return fmt.Sprintf("%.8E,%+.4e", timeOf(i), v)
		})},
		{name: "17 as printf %.18e", text: rows("time,A\n", func(i int, v float64) string { return fmt.Sprintf("%.18e,%.18e", timeOf(i), v) })},
		{name: "17 shortest", text: rows("time,A\n", func(i int, v float64) string {
			return strings.TrimPrefix(f(timeOf(i), -1), "0") + "," + strings.Replace(f(v, -1), "0.", ".", 1)
		})},
		{name: "17 units in cells", text: rows("time,A\n", func(i int, v float64) string { return f(timeOf(i)*1e3, 6) + " ms," + f(v*1e3, 1) + "mV" })},
		{name: "19 UTF-8 with BOM", text: "\uFEFF" + strings.Replace(plain, "time", "time [µs]", 1), o: SamplesOptions{Channels: []string{"A"}, TimeUnit: "s"}},
		{name: "19 UTF-16LE", text: utf16Of(plain, binary.LittleEndian, true), o: a},
		{name: "19 UTF-16BE", text: utf16Of(plain, binary.BigEndian, true), o: a},
		{name: "19 UTF-16LE without BOM", text: utf16Of(plain, binary.LittleEndian, false), o: a},
		{name: "19 Latin-1", text: "time [\xb5s],A\n" + rows("", func(i int, v float64) string { return f(timeOf(i)*1e6, 0) + "," + f(v, 4) })},
		{name: "19 CRLF", text: strings.ReplaceAll(plain, "\n", "\r\n"), o: a},
		{name: "19 CRLF, last column", text: strings.ReplaceAll(rows("time,B,A\n", func(i int, v float64) string {
			return f(timeOf(i), 9) + "," + f(second(i), 4) + "," + f(v, 4)
		}), "\n", "\r\n"), o: a},
		{name: "19 CR", text: strings.ReplaceAll(plain, "\n", "\r"), o: a},
		{name: "19 NUL padding", text: plain + strings.Repeat("\x00", 5000), o: a},
		{name: "19 long NUL padding", text: plain + strings.Repeat("\x00", 500000), o: a},
		{name: "19 no last line end", text: strings.TrimSuffix(plain, "\n"), o: a},
		{name: "19 last line cut short", text: plain + "0.0016000", o: a},
		{name: "20 digital and math columns", text: rows("time,D0,A [mV],D1\n", func(i int, v float64) string {
			return fmt.Sprintf("%s,%d,%s,%d", f(timeOf(i), 9), i/7%2, f(v*1e3, 1), i/50%2)
		})},
		{name: "20 µV", text: rows("time,A\n(s),(µV)\n", func(i int, v float64) string { return f(timeOf(i), 9) + "," + f(v*1e6, 0) })},
		{name: "gzip", text: gzipped(plain), o: a},
		{name: "inverted", text: rows("time,A\n", func(i int, v float64) string { return f(timeOf(i), 9) + "," + f(-v, 4) }), o: SamplesOptions{Invert: true}},
	}
}

// grouped puts a mark between thousands where there are any.
func grouped(text string) string {
	if whole, fraction, _ := strings.Cut(strings.TrimPrefix(text, "-"), "."); len(whole) > 3 {
		return strings.TrimSuffix(text, whole+"."+fraction) + whole[:len(whole)-3] + "," + whole[len(whole)-3:] + "." + fraction
	}
	return text
}

func preamble() string {
	var b strings.Builder
	for i := range 30 {
		fmt.Fprintf(&b, "Setting %d,%d,some text\n", i, i*3)
	}
	return b.String() + "\n"
}

func pairRows() string {
	wave := shapeWave()
	var b strings.Builder
	b.WriteString("time,A\n")
	for i := 0; i < len(wave); i += 2 {
		for _, v := range []float64{min(wave[i], wave[i+1]), max(wave[i], wave[i+1])} {
			b.WriteString(f(timeOf(i), 9) + "," + f(v, 4) + "\n")
		}
	}
	return b.String()
}

// eitherOfPair takes the values of a pair in either order where the wave turns:
// the file does not say which came first.
func eitherOfPair(i int, v float64) bool {
	wave := shapeWave()
	low, high := wave[i&^1], wave[i|1]
	return v == wave[i] || (v == low || v == high) && math.Abs(high-low) < 0.02
}

// interleaved has a time for each channel; channel A is shorter and slower.
func interleaved() string {
	return rows("t1,A,t2,B\n", func(i int, v float64) string {
		first := ","
		if i < 200 {
			first = f(timeOf(0)+8e-6*float64(i), 9) + "," + f(second(i), 4)
		}
		return first + "," + f(timeOf(i), 9) + "," + f(v, 4)
	})
}

func oneLine10(delim string) string {
	var cells []string
	for _, v := range shapeWave() {
		cells = append(cells, f(v, 4))
	}
	return strings.Join(cells, delim) + "\n"
}

func beside(interval string, time func(i int) string) string {
	keys := []string{"Record Length,2500", "Sample Interval," + interval, "Trigger Point,12", "Source,CH1", "Vertical Units,V", "Probe Type,passive", "Yzero,0"}
	return rows("", func(i int, v float64) string {
		key := ","
		if i < len(keys) {
			key = keys[i]
		}
		return key + ",," + time(i) + "," + f(v, 4) + ","
	})
}

// readSamples reads a wave to its end.
func readSamples(r io.Reader, o SamplesOptions) (info captures.WaveInfo, wave [][]float64, found []captures.Finding, err error) {
	source, err := OpenSamples(r, "wave.csv", o)
	if err != nil {
		return info, nil, nil, err
	}
	defer source.Close()
	wave = make([][]float64, len(source.Info().Channels))
	var b captures.Block
	for {
		if err = source.Next(&b); err != nil {
			break
		}
		if b.First != int64(len(wave[0])) {
			return info, nil, nil, fmt.Errorf("block starts at %d, want %d", b.First, len(wave[0]))
		}
		for c := range wave {
			wave[c] = append(wave[c], b.V[c]...)
		}
	}
	if err == io.EOF {
		err = nil
	}
	return source.Info(), wave, source.Findings(), err
}

func TestEveryShapeGivesTheSameWave(t *testing.T) {
	want := shapeWave()
	for _, shape := range shapes() {
		t.Run(shape.name, func(t *testing.T) {
			info, wave, found, err := readSamples(strings.NewReader(shape.text), shape.o)
			if err != nil {
				t.Fatal(err)
			}
			if shape.same == nil {
				shape.same = func(i int, v float64) bool { return v == want[i] }
			}
			for i, v := range wave[0] {
				if i >= len(want) || !shape.same(i, v) {
					t.Fatalf("sample %d is %v, want %v of %d; read as %s", i, v, want[min(i, len(want)-1)], len(want), info.ReadAs)
				}
			}
			if len(wave[0]) != len(want) {
				t.Errorf("%d samples, want %d", len(wave[0]), len(want))
			}
			if info.StepS != shapeStep {
				t.Errorf("step is %v, want %v; %s", info.StepS, shapeStep, info.ReadAs)
			}
			start := shapeStart
			switch {
			case shape.start != 0:
				start = shape.start
			case shape.startless, shape.o.SampleIntervalS.Known:
				start = 0
			}
			if math.Abs(info.StartS-start) > 1e-9*math.Abs(start) {
				t.Errorf("start is %v, want %v; %s", info.StartS, start, info.ReadAs)
			}
			for _, finding := range found {
				if finding.Kind != "cut-short" || shape.name != "19 last line cut short" {
					t.Errorf("finding %+v", finding)
				}
			}
		})
	}
}
