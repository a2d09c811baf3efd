package wavfile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"testing"

	"armcurve/captures"
)

func volt(v float64) Options { return Options{FullScaleV: captures.Some(v)} }

// readWave reads a recording to its end.
func readWave(r io.Reader, o Options) (info captures.WaveInfo, wave [][]float64, found []captures.Finding, err error) {
	source, err := Open(r, "run.wav", o)
	if err != nil {
		return info, nil, nil, err
	}
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
	info, found = source.Info(), source.Findings()
	if err == io.EOF {
		err = source.Close()
	}
	return info, wave, found, err
}

func kinds(found []captures.Finding) string {
	var list []string
	for _, finding := range found {
		list = append(list, finding.Kind)
	}
	return strings.Join(list, " ")
}

// The files and the figures are sox's: testdata/make.sh wrote them and printed
// what "sox FILE -n stat" says.
func TestFilesFromSox(t *testing.T) {
	for _, test := range []struct {
		file          string
		channel       string
		samples       int
		max, min, rms float64
		stepS         float64
		readAs        string
	}{
		{"sine8", "", 4800, 0.507813, -0.507813, 0.353461, 1.0 / 48000, "WAV, 8-bit PCM, 1 channel, 48000 Hz, full scale 1 V, 4800 samples"},
		{"sine16", "", 4800, 0.500031, -0.500031, 0.353553, 1.0 / 48000, "WAV, 16-bit PCM, 1 channel, 48000 Hz, full scale 1 V, 4800 samples"},
		{"sine24", "", 4800, 0.5, -0.5, 0.353553, 1.0 / 48000, "WAV, 24-bit PCM, 1 channel, 48000 Hz, full scale 1 V, 4800 samples"},
		{"sine32", "", 4800, 0.5, -0.5, 0.353553, 1.0 / 48000, "WAV, 32-bit PCM, 1 channel, 48000 Hz, full scale 1 V, 4800 samples"},
		{"sinefloat32", "", 4800, 0.5, -0.5, 0.353553, 1.0 / 48000, "WAV, 32-bit floating point, 1 channel, 48000 Hz, full scale 1 V, 4800 samples"},
		{"sinefloat64", "", 4800, 0.5, -0.5, 0.353553, 1.0 / 48000, "WAV, 64-bit floating point, 1 channel, 48000 Hz, full scale 1 V, 4800 samples"},
		{"square16", "", 4800, 0.500031, -0.500031, 0.5, 1.0 / 48000, "WAV, 16-bit PCM, 1 channel, 48000 Hz, full scale 1 V, 4800 samples"},
		{"piped16", "", 4800, 0.500031, -0.500031, 0.353553, 1.0 / 48000, "WAV, 16-bit PCM, 1 channel, 48000 Hz, full scale 1 V, 4800 samples"},
		{"stereo16", "right", 2205, 0.250031, -0.250031, 0.176777, 1.0 / 44100, `WAV, 16-bit PCM, 2 channels, 44100 Hz, full scale 1 V, channel "right", 2205 samples`},
	} {
		t.Run(test.file, func(t *testing.T) {
			o := volt(1)
			if test.channel != "" {
				o.Channels = []string{test.channel}
			}
			file, err := os.Open("testdata/" + test.file + ".wav")
			if err != nil {
				t.Fatal(err)
			}
			defer file.Close()
			info, wave, found, err := readWave(file, o)
			if err != nil {
				t.Fatal(err)
			}
			if len(wave[0]) != test.samples || info.StepS != test.stepS || info.StartS != 0 || info.ReadAs != test.readAs {
				t.Errorf("%d samples, %+v", len(wave[0]), info)
			}
			highest, lowest, sum := math.Inf(-1), math.Inf(1), 0.0
			for _, v := range wave[0] {
				highest, lowest, sum = max(highest, v), min(lowest, v), sum+v*v
			}
			rms := math.Sqrt(sum / float64(len(wave[0])))
			within := 6e-7 // half of sox's last digit
			if test.channel != "" {
				within = 4e-5 // sox took both channels together, with a dither for each
			}
			for _, pair := range [][2]float64{{highest, test.max}, {lowest, test.min}, {rms, test.rms}} {
				if math.Abs(pair[0]-pair[1]) > within {
					t.Errorf("figure is %.7f, sox says %.6f", pair[0], pair[1])
				}
			}
			if kinds(found) != "ac-coupled" {
				t.Errorf("finds %v", found)
			}
		})
	}
}

// All files of a sine hold the same sine, within the step of each and the
// dither of two.
func TestSoxFilesHoldTheSineAsked(t *testing.T) {
	for file, step := range map[string]float64{"sine8": 2.0 / (1 << 7), "sine16": 2.0 / (1 << 15), "sine24": 2.0 / (1 << 23),
		"sine32": 1.0 / (1 << 30), "sinefloat32": 1.0 / (1 << 24), "sinefloat64": 1.0 / (1 << 30)} {
		raw, err := os.ReadFile("testdata/" + file + ".wav")
		if err != nil {
			t.Fatal(err)
		}
		_, wave, _, err := readWave(bytes.NewReader(raw), Options{FullScaleV: captures.Some(4), VoltsTimes: 10, Invert: true})
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range wave[0] {
			if want := -20 * math.Sin(2*math.Pi*1000*float64(i)/48000); math.Abs(v-want) > 40*step {
				t.Fatalf("%s: sample %d is %v, want %v", file, i, v, want)
			}
		}
	}
}

// A sine four times too loud, limited by sox without dither: what stands at
// the ends of the range is marked, and nothing else is touched.
func TestClippedSamplesAreMarked(t *testing.T) {
	raw, err := os.ReadFile("testdata/clipped16.wav")
	if err != nil {
		t.Fatal(err)
	}
	_, wave, found, err := readWave(bytes.NewReader(raw), volt(2))
	if err != nil {
		t.Fatal(err)
	}
	above, below := 0, 0
	for i, v := range wave[0] {
		code := int16(binary.LittleEndian.Uint16(raw[len(raw)-9600+2*i:]))
		switch {
		case code == math.MaxInt16 && math.IsInf(v, 1):
			above++
		case code == math.MinInt16 && math.IsInf(v, -1):
			below++
		case v != 2*float64(code)/(1<<15):
			t.Fatalf("sample %d is %v, code %d", i, v, code)
		}
	}
	want := fmt.Sprintf("run.wav: %d samples stand at the end of the range beside others alike, %d above and %d below", above+below, above, below)
	if above < 1000 || below < 1000 || len(found) != 2 || found[1].Text != want {
		t.Errorf("%d above, %d below, %v", above, below, found)
	}
}

// built makes a file of the given chunks.
func built(form string, chunks ...[]byte) []byte {
	body := append([]byte("WAVE"), bytes.Join(chunks, nil)...)
	return append(binary.LittleEndian.AppendUint32([]byte(form), uint32(len(body))), body...)
}

func chunk(name string, data []byte) []byte {
	c := append(binary.LittleEndian.AppendUint32([]byte(name), uint32(len(data))), data...)
	if len(data)%2 == 1 {
		c = append(c, 0)
	}
	return c
}

func format(tag, channels, rate, size, bits int) []byte {
	le := binary.LittleEndian
	p := le.AppendUint16(nil, uint16(tag))
	p = le.AppendUint16(p, uint16(channels))
	p = le.AppendUint32(p, uint32(rate))
	p = le.AppendUint32(p, uint32(rate*channels*size))
	p = le.AppendUint16(p, uint16(channels*size))
	return le.AppendUint16(p, uint16(bits))
}

func codes16(codes ...int16) []byte {
	var p []byte
	for _, code := range codes {
		p = binary.LittleEndian.AppendUint16(p, uint16(code))
	}
	return p
}

func TestOddHeaders(t *testing.T) {
	mono := format(formatPCM, 1, 1000, 2, 16)
	three := codes16(16384, -16384, 8192)
	want := []float64{0.5, -0.5, 0.25}
	wideSizes := binary.LittleEndian.AppendUint64(binary.LittleEndian.AppendUint64(nil, 200), 6)
	extensible := append(format(formatExtensible, 1, 1000, 2, 16), 22, 0, 12, 0, 4, 0, 0, 0, formatPCM, 0)
	extensible = append(extensible, subformatTail...)
	noSize := chunk("data", three)
	copy(noSize[4:], []byte{0, 0, 0, 0})
	wideData := chunk("data", three)
	copy(wideData[4:], []byte{0xFF, 0xFF, 0xFF, 0xFF})
	for _, test := range []struct {
		name string
		file []byte
		cut  bool
	}{
		{"chunks before, of odd size", built("RIFF", chunk("LIST", []byte("odd")), chunk("fmt ", mono), chunk("bext", make([]byte, 6001)), chunk("data", three)), false},
		{"chunks behind", built("RIFF", chunk("fmt ", mono), chunk("data", three), chunk("LIST", []byte("more"))), false},
		{"long fmt chunk", built("RIFF", chunk("fmt ", append(mono, 1, 0, 7)), chunk("data", three)), false},
		{"extensible, 12 bits in 16", built("RIFF", chunk("fmt ", extensible), chunk("data", three)), false},
		{"RF64", built("RF64", chunk("ds64", append(wideSizes, make([]byte, 12)...)), chunk("fmt ", mono), wideData, chunk("LIST", nil)), false},
		{"never closed", built("RIFF", chunk("fmt ", mono), noSize), false},
		{"cut in the last sample, of a size not known", built("RIFF", chunk("fmt ", mono), append(noSize, 1)), true},
	} {
		_, wave, found, err := readWave(bytes.NewReader(test.file), volt(1))
		if err != nil || fmt.Sprint(wave[0]) != fmt.Sprint(want) {
			t.Errorf("%s: %v, %v", test.name, wave, err)
		}
		if (kinds(found) == "ac-coupled cut-short") != test.cut {
			t.Errorf("%s: finds %v", test.name, found)
		}
	}
}

func TestChannels(t *testing.T) {
	file := built("RIFF", chunk("fmt ", format(formatPCM, 3, 1000, 2, 16)), chunk("data", codes16(1, 2, 3, 4, 5, 6)))
	o := volt(32768)
	o.Channels = []string{"3", "1"}
	info, wave, _, err := readWave(bytes.NewReader(file), o)
	if err != nil || fmt.Sprint(wave) != "[[3 6] [1 4]]" || len(info.Channels) != 2 || info.Channels[0].Name != "3" {
		t.Errorf("%v, %+v, %v", wave, info, err)
	}
}

// A lone sample at the end of the range may have just fitted. Two alike are
// clipped, also where one is the last of a block.
func TestClipsAcrossBlocks(t *testing.T) {
	codes := make([]int16, 3*framesInBlock)
	for i := range codes {
		codes[i] = int16(i % 100)
	}
	codes[10], codes[20], codes[21] = math.MaxInt16, math.MinInt16, math.MinInt16
	codes[framesInBlock-1], codes[framesInBlock] = math.MaxInt16, math.MaxInt16
	codes[len(codes)-1] = math.MaxInt16
	file := built("RIFF", chunk("fmt ", format(formatPCM, 1, 1000, 2, 16)), chunk("data", codes16(codes...)))
	_, wave, found, err := readWave(bytes.NewReader(file), volt(32768))
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range wave[0] {
		clipped := i == 20 || i == 21 || i == framesInBlock-1 || i == framesInBlock
		if math.IsInf(v, 0) != clipped || !clipped && v != float64(codes[i]) {
			t.Errorf("sample %d is %v, code %d", i, v, codes[i])
		}
	}
	if kinds(found) != "ac-coupled clipped" || !strings.Contains(found[1].Text, " 4 samples") || !strings.Contains(found[1].Text, "2 above and 2 below") {
		t.Errorf("finds %v", found)
	}
}

func TestMalformedFiles(t *testing.T) {
	mono := format(formatPCM, 1, 1000, 2, 16)
	data := chunk("data", codes16(1, 2, 3))
	with := func(at int, value ...byte) []byte {
		p := bytes.Clone(mono)
		copy(p[at:], value)
		return built("RIFF", chunk("fmt ", p), data)
	}
	good := built("RIFF", chunk("fmt ", mono), data)
	nan32 := binary.LittleEndian.AppendUint32(nil, math.Float32bits(float32(math.NaN())))
	for _, test := range []struct {
		name string
		file []byte
		o    Options
		want string
	}{
		{"empty", nil, volt(1), "run.wav: byte 0: found the end of the file in the header; want a whole recording"},
		{"cut in the header", good[:10], volt(1), "run.wav: byte 10: found the end of the file in the header; want a whole recording"},
		{"cut in the format", good[:30], volt(1), "run.wav: byte 30: found the end of the file in the format; want a whole recording"},
		{"no samples", good[:36], volt(1), "run.wav: byte 36: found the end of the file in the header of a chunk before any samples; want a whole recording"},
		{"cut in a chunk", built("RIFF", chunk("LIST", []byte("abcdef"))[:10]), volt(1), "run.wav: byte 22: found the end of the file in chunk \"LIST\"; want a whole recording"},
		{"not a WAV", []byte("RIFF1234AVI etc."), volt(1), `run.wav: byte 0: found "RIFF" and "AVI "; want RIFF or RF64, and WAVE`},
		{"text", []byte("time,A\n0,1\n1,2\n"), volt(1), `run.wav: byte 0: found "time" and ",1\n1"; want RIFF or RF64, and WAVE`},
		{"samples first", built("RIFF", data), volt(1), "run.wav: byte 12: found samples before their format; want a fmt chunk first"},
		{"short format", built("RIFF", chunk("fmt ", mono[:14]), data), volt(1), "run.wav: byte 16: found a format of 14 bytes; want at least 16"},
		{"packed", with(0, 0x55), volt(1), "run.wav: byte 20: found format 85; want whole numbers (1) or floating point (3)\nhint: save the recording as 16-bit PCM"},
		{"extensible without a tail", built("RIFF", chunk("fmt ", append(format(formatExtensible, 1, 1000, 2, 16), make([]byte, 24)...)), data), volt(1),
			"run.wav: byte 44: found a format that is not known; want whole numbers or floating point\nhint: save the recording as 16-bit PCM"},
		{"no channels", with(2, 0), volt(1), "run.wav: byte 22: found 0 channels; want 1 to 64"},
		{"no rate", with(4, 0, 0, 0, 0), volt(1), "run.wav: byte 24: found 0 samples per second; want 1 to 1073741824"},
		{"no size", with(12, 0), volt(1), "run.wav: byte 32: found 0 bytes for 1 channels; want as many for each"},
		{"48 bits", with(12, 6, 0, 48), volt(1), "run.wav: byte 34: found samples of 48 bits in 6 bytes; want 8, 16, 24 or 32 bits, or floating point of 32 or 64\nhint: save the recording as 16-bit PCM"},
		{"half a float", built("RIFF", chunk("fmt ", format(formatFloat, 1, 1000, 2, 16)), data), volt(1),
			"run.wav: byte 34: found samples of 16 bits in 2 bytes; want 8, 16, 24 or 32 bits, or floating point of 32 or 64\nhint: save the recording as 16-bit PCM"},
		{"one sample", built("RIFF", chunk("fmt ", mono), chunk("data", codes16(7))), volt(1), "run.wav: byte 44: found 1 samples; want a recording of many"},
		{"short ds64", built("RF64", chunk("ds64", make([]byte, 8))), volt(1), "run.wav: byte 20: found a ds64 chunk of 8 bytes; want at least 16"},
		{"cut in its middle", built("RIFF", chunk("fmt ", mono), chunk("data", make([]byte, 200))[:8+101]), volt(1),
			"run.wav: byte 145: found the end of the file with 99 of 200 bytes of samples missing; want a whole recording\nhint: copy or export the file again"},
		{"no volts", good, Options{}, "run.wav: found a WAV recording, which says nothing of volts; want the voltage of full scale\nhint: give --full-scale, the volts at the largest sample"},
		{"negative volts", good, volt(-1), "run.wav: full scale is -1 V; want more than 0"},
		{"missing channel", good, Options{FullScaleV: captures.Some(1), Channels: []string{"left"}}, "run.wav: found no channel \"left\"; want one of 1 to 1\nhint: choose with --channel"},
		{"several channels", built("RIFF", chunk("fmt ", format(formatPCM, 2, 1000, 2, 16)), data), volt(1), "run.wav: found 2 channels, 1 (left), 2 (right); want to know which\nhint: choose with --channel"},
		{"no voltage", built("RIFF", chunk("fmt ", format(formatFloat, 1, 1000, 4, 32)), chunk("data", append(make([]byte, 40), nan32...))), volt(1),
			"run.wav: byte 84: found the first of 1 of 11 samples that are no voltage; want at most 1 %"},
	} {
		_, _, _, err := readWave(bytes.NewReader(test.file), test.o)
		var fault Fault
		if err == nil || err.Error() != test.want || !errors.As(err, &fault) {
			t.Errorf("%s gives\n%v\nwant\n%s", test.name, err, test.want)
		}
	}
}

// Whatever the bytes are: no panic, every error names the file, and all blocks
// together are no longer than the file.
func FuzzWave(f *testing.F) {
	for _, name := range []string{"sine8", "sine16", "sine24", "sinefloat32", "stereo16", "piped16"} {
		raw, err := os.ReadFile("testdata/" + name + ".wav")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw[:400], "1")
	}
	f.Add(built("RF64", chunk("ds64", make([]byte, 28)), chunk("fmt ", format(formatPCM, 2, 8000, 4, 20)), chunk("data", make([]byte, 64))), "right")
	f.Fuzz(func(t *testing.T, raw []byte, channel string) {
		o := volt(2)
		o.Channels = []string{channel}
		info, wave, _, err := readWave(bytes.NewReader(raw), o)
		if err != nil && !strings.HasPrefix(err.Error(), "run.wav: ") {
			t.Fatalf("error without a place: %v", err)
		}
		if err == nil && (!(info.StepS > 0) || len(wave[0]) < 2 || len(wave[0]) > len(raw)) {
			t.Fatalf("%d samples of %d bytes, %+v", len(wave[0]), len(raw), info)
		}
	})
}

// What is written is read again.
func FuzzWaveWriteThenRead(f *testing.F) {
	f.Add([]byte("0123456789abcdef"), byte(16))
	f.Add([]byte{0xFF, 0xFF, 0x7F, 0x00, 0x00, 0x80}, byte(24))
	f.Fuzz(func(t *testing.T, data []byte, bits byte) {
		size := int(bits)%4 + 1
		data = data[:len(data)/size*size]
		if len(data) < 2*size {
			return
		}
		file := built("RIFF", chunk("fmt ", format(formatPCM, 1, 1000, size, 8*size)), chunk("data", data))
		fullScale := math.Ldexp(1, 8*size-1)
		_, wave, _, err := readWave(bytes.NewReader(file), volt(1))
		if err != nil || len(wave[0]) != len(data)/size {
			t.Fatalf("%d samples of %d, %v", len(wave), len(data)/size, err)
		}
		for i, v := range wave[0] {
			code := int64(data[i*size]) - 128
			if size > 1 {
				code = 0
				for k := range size {
					code |= int64(data[i*size+k]) << (8 * k)
				}
				code = code << (64 - 8*size) >> (64 - 8*size)
			}
			atEnd := code == int64(fullScale)-1 || code == -int64(fullScale)
			if v*fullScale != float64(code) && !(atEnd && math.IsInf(v, int(code))) {
				t.Fatalf("sample %d is %v, want %d", i, v, code)
			}
		}
	})
}

func BenchmarkWave(b *testing.B) {
	data := make([]byte, 8<<20)
	for i := range data {
		data[i] = byte(i * i >> 7)
	}
	for _, form := range []struct {
		name string
		fmt  []byte
	}{
		{"mono16", format(formatPCM, 1, 48000, 2, 16)},
		{"stereo24", format(formatPCM, 2, 48000, 3, 24)},
		{"float32", format(formatFloat, 1, 48000, 4, 32)},
	} {
		b.Run(form.name, func(b *testing.B) {
			file := built("RIFF", chunk("fmt ", form.fmt), chunk("data", data))
			o := volt(1)
			o.Channels = []string{"1"}
			b.SetBytes(int64(len(file)))
			var block captures.Block
			for b.Loop() {
				source, err := Open(bytes.NewReader(file), "run.wav", o)
				if err != nil {
					b.Fatal(err)
				}
				for err == nil {
					err = source.Next(&block)
				}
			}
		})
	}
}
