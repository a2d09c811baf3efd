package replay

import (
	"encoding/binary"
	"math"
	"testing"

	"armcurve/captures"
	"armcurve/threshold"
)

// FuzzReplay plays any wave with teeth anywhere: no panic, every tooth is
// counted, missed or unseen, and every fault has a share.
func FuzzReplay(f *testing.F) {
	f.Add([]byte{1, 200, 3, 90, 7, 255, 0, 128, 64, 9, 17, 33}, uint8(5), false)
	f.Add([]byte("a wave of letters, with some teeth in it"), uint8(2), true)
	f.Fuzz(func(t *testing.T, wave []byte, turn uint8, level bool) {
		if len(wave) == 0 {
			return
		}
		teeth := int(turn)%8 + 1
		wheel, err := captures.NewWheel(teeth+1, []int{1})
		if err != nil {
			t.Fatal(err)
		}
		table := threshold.NewTable([]threshold.Row{{RPM: 0, ThresholdV: captures.Some(0.2)}, {RPM: 9000}}, threshold.Linear)
		o := Options{Tables: []threshold.Table{table}, HysteresisV: 0.1, KeepEvents: true, CrankingRPM: float64(turn)}
		if level {
			o.CountsOn, o.SpeedFrom, o.FilterHz, o.Wheel = Level, Interval, captures.Some(50), wheel
		}
		r, err := New(captures.WaveInfo{File: "f", StepS: 1e-3}, o)
		if err != nil {
			t.Fatal(err)
		}
		number := 0
		for i, b := range wave {
			var v [4]float64
			for k := range v {
				v[k] = float64(int8(b))/64 + math.Sin(float64(4*i+k))
			}
			r.Wave(int64(4*i), v[:])
			if b%3 == 0 {
				number = number%teeth + 1
				at := float64(4*i) + float64(b%4)
				rpm := float64(binary.LittleEndian.Uint16([]byte{b, turn}))
				r.Tooth(captures.Tooth{TimeS: at / 1000, Number: number, RPM: rpm}, b%5 > 0, at, 0.01)
			}
		}
		r.End()
		res, err := r.Result(0, Facts{Signal: "reluctor"})
		if err != nil {
			t.Fatal(err)
		}
		if res.Expected != res.Counted+res.Missed+res.Unseen {
			t.Errorf("%+v", res.Counts)
		}
		sum := 0.0
		for _, c := range res.Causes {
			sum += c.Share
		}
		if len(res.Causes) > 0 && math.Abs(sum-1) > 1e-9 {
			t.Errorf("shares add up to %g: %+v", sum, res.Causes)
		}
	})
}
