package csvfile

import (
	"encoding/binary"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"armcurve/captures"
)

// Whatever the bytes are: no panic, every error names the file, and a wave
// that is read has a step, and blocks that follow each other.
func FuzzSamples(fz *testing.F) {
	for _, shape := range shapes() {
		fz.Add([]byte(shape.text[:min(len(shape.text), 3000)]), "", false)
	}
	for _, text := range []string{"1,5\n2,5\n", "t1,A,t2,B\n0,1,0,2\n1,1,1,2\n,,2,2\n", "\"a\",\"b\n1,2\n", "time,A\n0,1\n1e-5,2\n9e9,3\n", "\xff\xfe1\x00", "x\r1\r2\r"} {
		fz.Add([]byte(text), "A", true)
	}
	fz.Fuzz(func(t *testing.T, text []byte, channel string, stated bool) {
		var o SamplesOptions
		if channel != "" {
			o.Channels = []string{channel}
		}
		if stated {
			o.SampleIntervalS = captures.Some(1e-5)
		}
		source, err := OpenSamples(strings.NewReader(string(text)), "fuzz.csv", o)
		if err != nil {
			checkPlace(t, err)
			return
		}
		defer source.Close()
		info := source.Info()
		if !(info.StepS > 0) || math.IsInf(info.StepS, 0) || math.IsNaN(info.StartS) || math.IsInf(info.StartS, 0) || len(info.Channels) == 0 {
			t.Fatalf("info is %+v", info)
		}
		var b captures.Block
		next := int64(0)
		for {
			err := source.Next(&b)
			if b.First != next || len(b.V) != len(info.Channels) {
				t.Fatalf("block of %d channels at %d, want %d at %d", len(b.V), b.First, len(info.Channels), next)
			}
			next += int64(b.Len())
			if err == io.EOF {
				break
			}
			if err != nil {
				checkPlace(t, err)
				break
			}
			if b.Len() == 0 {
				t.Fatal("empty block without an end")
			}
		}
		source.Findings()
	})
}

func checkPlace(t *testing.T, err error) {
	t.Helper()
	if !strings.HasPrefix(err.Error(), "fuzz.csv") {
		t.Fatalf("error without a place: %v", err)
	}
}

// What is written is read again to the last bit.
func FuzzSamplesWriteThenRead(fz *testing.F) {
	fz.Add([]byte("12345678abcdefgh87654321"), byte('f'), int8(-1), uint8(0))
	fz.Add([]byte("\x00\x00\x00\x00\x00\x00\xf0\x3f\x00\x00\x00\x00\x00\x00\x00\xc0"), byte('e'), int8(17), uint8(3))
	fz.Fuzz(func(t *testing.T, raw []byte, format byte, digits int8, dialect uint8) {
		var wave []float64
		for ; len(raw) >= 8 && len(wave) < 2000; raw = raw[8:] {
			v := math.Float64frombits(binary.LittleEndian.Uint64(raw))
			if v = math.Mod(v, 1000); !math.IsNaN(v) {
				wave = append(wave, v)
			}
		}
		if len(wave) < 2 {
			return
		}
		if format != 'e' && format != 'g' {
			format = 'f'
		}
		d := []Dialect{{',', '.'}, {';', '.'}, {';', ','}, {'\t', ','}, {' ', '.'}, {'|', ','}}[dialect%6]
		var b strings.Builder
		want := make([]float64, len(wave))
		b.WriteString("time_s" + string(d.Delimiter) + "A_V\n")
		for i, v := range wave {
			text := strconv.FormatFloat(v, format, min(max(int(digits), -1), 40), 64)
			want[i], _ = strconv.ParseFloat(text, 64)
			line := strconv.FormatFloat(float64(i)*1e-5, 'f', 5, 64) + " " + text
			if d.Decimal == ',' {
				line = comma(line)
			}
			b.WriteString(strings.Replace(line, " ", string(d.Delimiter), 1) + "\n")
		}
		_, got, _, err := readSamples(strings.NewReader(b.String()), SamplesOptions{Dialect: d})
		if err != nil {
			t.Fatal(err)
		}
		if len(got[0]) != len(want) {
			t.Fatalf("%d samples, want %d", len(got[0]), len(want))
		}
		for i, v := range got[0] {
			if math.Float64bits(v) != math.Float64bits(want[i]) {
				t.Fatalf("sample %d is %v, want %v", i, v, want[i])
			}
		}
	})
}
