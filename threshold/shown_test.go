package threshold_test

import (
	"cmp"
	"slices"
	"testing"

	"armcurve/captures"
	"armcurve/threshold"
)

// shown is a sensor with one of everything a reading can be.
func shown(t *testing.T) *threshold.Sensor {
	t.Helper()
	o := threshold.DefaultOptions()
	o.Wheel, _ = captures.ParseWheel("36-1")
	o.Input.HysteresisV = 0.04
	reading := func(line int, rpm, peakV float64) captures.Reading {
		r := captures.Reading{Pos: captures.Pos{File: "r.csv", Line: line}, Sensor: captures.Crank, RPM: rpm}
		if peakV > 0 {
			r.PeakV = captures.Some(peakV)
		}
		return r
	}
	readings := []captures.Reading{reading(2, 0, 0)}
	readings[0].NoiseV = captures.Some(0.02)
	for i, rpm := range []float64{200, 500, 900, 1500, 2500, 4000, 6000} {
		readings = append(readings, reading(3+i, rpm, 0.0025*rpm))
	}
	readings[3].PeakV = captures.Some(22.5) // ten times too much
	readings[1].NoiseRMSV = captures.Some(0.006)
	readings[6].NoiseRMSV, readings[6].SpikeV = captures.Some(0.02), captures.Some(0.3)
	readings[7].Clipped = true
	s, err := threshold.NewSensor(readings, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestReadingsTellWhatBecameOfThem(t *testing.T) {
	want := map[float64]threshold.Use{0: threshold.NoiseOnly, 200: threshold.Fitted, 900: threshold.LeftOut, 4000: threshold.Fitted, 6000: threshold.Limit}
	s := shown(t)
	if got := len(s.Readings()); got != 8 {
		t.Fatalf("%d readings, want all 8", got)
	}
	for _, r := range s.Readings() {
		if use, stated := want[r.RPM]; stated && r.Use != use {
			t.Errorf("%s at %v rpm is %v, want %v", r.Pos, r.RPM, r.Use, use)
		}
	}
	if !slices.IsSortedFunc(s.Readings(), func(a, b threshold.UsedReading) int { return int(a.RPM - b.RPM) }) {
		t.Error("readings are not by speed")
	}
}

// The parts are those of the ceiling: their largest is the ceiling and bears
// its name, at every speed.
func TestNoisePartsMakeTheCeiling(t *testing.T) {
	s := shown(t)
	for rpm := 0.0; rpm <= s.LimitRPM; rpm += 37 {
		w := s.Window(rpm)
		parts := s.NoiseParts(rpm)
		largest := slices.MaxFunc(parts, func(a, b threshold.NoisePart) int { return cmp.Compare(a.V, b.V) })
		if largest.V != w.NoiseV.Value || largest.Name != w.NoisePart {
			t.Errorf("at %v rpm the largest part is %v, the ceiling %v from %s", rpm, largest, w.NoiseV.Value, w.NoisePart)
		}
	}
}

func TestMarginsOfAWindow(t *testing.T) {
	w := threshold.Window{RPM: 1000, WeakestV: 3, NoiseV: captures.Some(0.5), SignalTarget: 2, NoiseTarget: 1.25, Measured: true, Turning: true}
	signal, noise := w.Margins(captures.Some(1.5))
	if signal != captures.Some(2) || noise != captures.Some(3) {
		t.Errorf("margins %v and %v, want 2 and 3", signal, noise)
	}
	if _, noise = w.Margins(captures.Maybe{}); noise.Known {
		t.Error("a margin without a threshold")
	}
}

func TestReadingScatterLiesBetweenFoundAndExpected(t *testing.T) {
	s := shown(t)
	if got := s.ReadingScatter(); !(got > s.Curve.Scatter && got < s.Options.ReadingScatter) {
		t.Errorf("scatter %v, want between the %v found and the %v expected", got, s.Curve.Scatter, s.Options.ReadingScatter)
	}
}
