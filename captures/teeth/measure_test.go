package teeth

import (
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"armcurve/captures"
)

// wave is a source of given samples, in blocks of a given length.
func wave(v []float64, stepS float64, blockLen int) *recorded {
	r := &recorded{info: captures.WaveInfo{File: "wave", Channels: []captures.Channel{{Name: "A"}}, StepS: stepS}}
	for len(v) > 0 {
		n := min(len(v), blockLen)
		r.blocks = append(r.blocks, v[:n])
		v = v[n:]
	}
	return r
}

// TestBlocks measures one wave in blocks of several lengths, as several shapes of
// file give it: all is the same to the last digit.
func TestBlocks(t *testing.T) {
	b := bumps{places: gapped(36, 1), sigma: 0.25 / 36, rpm: 800}
	v := b.drive(50e3, 1.3, 0.02, func(s, _ float64) float64 { return 800 + 2000*s })
	for _, noiseOnly := range []bool{false, true} {
		var first Measurement
		for i, blockLen := range []int{1, 333, 8192, len(v)} {
			m, err := Measure(wave(v, 2e-5, blockLen), Options{KeepTeeth: true, KeepRevolutions: true, NoiseOnly: noiseOnly})
			if err != nil {
				t.Fatal(err)
			}
			if i == 0 {
				first = m
			}
			if d := cmp.Diff(first, m, cmp.AllowUnexported(Measurement{}, crankTurn{}), cmpopts.EquateNaNs()); d != "" {
				t.Errorf("blocks of %d make a difference:\n%s", blockLen, d)
			}
		}
	}
}

// FuzzMeasure: whatever the samples, no panic, and every number that comes out
// is finite, in order of time and within the capture.
func FuzzMeasure(f *testing.F) {
	f.Add([]byte("armcurve"), uint16(3000), uint8(0), false)
	f.Add([]byte{0, 127, 255, 127}, uint16(60000), uint8(1), true)
	f.Add([]byte{0, 40, 80, 127, 255, 1, 7}, uint16(9000), uint8(2), false)
	f.Add([]byte{255}, uint16(100), uint8(3), true)
	tooth, space := []byte{128, 190, 220, 190, 128, 60, 30, 60}, []byte{128, 128, 128, 128, 128, 128, 128, 128}
	wheel5 := slices.Concat(tooth, tooth, tooth, tooth, tooth, space)
	f.Add(wheel5, uint16(9000), uint8(0), false)                                      // 6-1
	f.Add(wheel5, uint16(60000), uint8(16), true)                                     // the wires swapped, more samples
	f.Add(slices.Concat(wheel5, space, space), uint16(30000), uint8(1), false)        // not the wheel stated
	f.Add(slices.Concat(tooth, space, space, space), uint16(40000), uint8(3), false)  // one tooth
	f.Add([]byte{20, 20, 20, 20, 230, 230, 230, 230}, uint16(20000), uint8(0), false) // square
	wheels := []string{"", "36-1", "24", "1", "@0,180,420"}
	f.Fuzz(func(t *testing.T, shape []byte, n uint16, kind uint8, negative bool) {
		if len(shape) == 0 {
			return
		}
		v := make([]float64, n)
		state := uint64(n)
		for i := range v {
			state = state*6364136223846793005 + 1442695040888963407
			b := shape[(i/(1+int(kind>>4)*7))%len(shape)]
			v[i] = float64(b) - 128 + 20*float64(int64(state)>>11)/(1<<52)
			switch {
			case b == 255:
				v[i] = math.Inf(1)
			case b == 1:
				v[i] = math.Inf(-1)
			case b == 7:
				v[i] = math.NaN()
			}
		}
		o := Options{Negative: negative, KeepTeeth: true, KeepRevolutions: true}
		if text := wheels[int(kind&15)%len(wheels)]; text != "" {
			o.Wheel = wheel(t, text)
		}
		m, err := Measure(wave(v, 1e-5, 1+int(kind)*37), o)
		if err != nil {
			return
		}
		for i, tooth := range m.ToothList {
			if i > 0 && tooth.TimeS < m.ToothList[i-1].TimeS || tooth.TimeS < 0 || tooth.TimeS > float64(n)*1e-5 {
				t.Fatalf("tooth %d at %g s", i, tooth.TimeS)
			}
		}
		for _, r := range m.Readings {
			for _, x := range []float64{r.RPM, r.PeakV.Value, r.WeakestV.Value, r.NoiseV.Value, r.NoiseRMSV.Value, r.SpikeV.Value, r.HumpV.Value} {
				if math.IsNaN(x) || math.IsInf(x, 0) || x < 0 {
					t.Fatalf("reading %+v", r)
				}
			}
		}
	})
}
