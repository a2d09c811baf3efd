package teeth

import (
	"io"
	"math"
	"testing"

	"armcurve/captures"
)

// sideBySide is a wave of two channels, in blocks.
type sideBySide struct {
	v    [2][]float64
	next int
}

func (s *sideBySide) Info() captures.WaveInfo {
	return captures.WaveInfo{File: "wave", Channels: []captures.Channel{{Name: "cam"}, {Name: "crank"}}, StepS: 1e-5}
}

func (s *sideBySide) Next(b *captures.Block) error {
	if s.next == len(s.v[0]) {
		return io.EOF
	}
	to := min(s.next+4999, len(s.v[0]))
	b.First, b.V = int64(s.next), [][]float64{s.v[0][s.next:to], s.v[1][s.next:to]}
	s.next = to
	return nil
}

func (s *sideBySide) Findings() []captures.Finding { return nil }
func (s *sideBySide) Close() error                 { return nil }

// TestUncoupled: without what it has of the crank's wave, and of its rate of change, a
// cam's channel shows the cam's own teeth, where the crank's wheel has a gap and where it
// has none. A cam of as many teeth as the crank has in two turns shows none then.
func TestUncoupled(t *testing.T) {
	b, _ := bumpsWithout(t, "36-1", []int{35})
	even, _ := bumpsWithout(t, "24", nil)
	own := bumps{places: []float64{0.1, 0.35, 0.7}, sigma: 0.01, rpm: b.rpm / 2}
	many := bumps{sigma: 0.22 / 48, rpm: b.rpm / 2}
	for p := range 48 {
		many.places = append(many.places, float64(p)/48)
	}
	for _, c := range []struct {
		name  string
		wheel string
		crank []float64
		cam   []float64
		share float64
		want  bool
	}{
		{"gap", "36-1", b.samples(100e3, 3, 0, 0.01), own.samples(100e3, 3, 0.2, 0.02), 0.5, true},
		{"no gap", "24", even.samples(100e3, 3, 0, 0.01), own.samples(100e3, 3, 0.2, 0.02), 0.5, true},
		{"as many teeth", "24", even.samples(100e3, 3, 0, 0.01), many.samples(100e3, 3, 0.2, 0.02), 0, false},
	} {
		for i := 1; i+1 < len(c.cam); i++ {
			c.cam[i] += c.share * (c.crank[i] + 4*(c.crank[i+1]-c.crank[i-1]))
		}
		crank, err := Measure(wave(c.crank, 1e-5, 5000), Options{Wheel: wheel(t, c.wheel)})
		if err != nil {
			t.Fatal(err)
		}
		cam, err := Measure(wave(c.cam, 1e-5, 5000), Options{OnCam: true})
		if err != nil {
			t.Fatal(err)
		}
		_, copies := CopiesCrank(cam, crank)
		_, may := MayCopyCrank(cam, crank)
		if hasGap := c.wheel != "24"; copies != hasGap || may == hasGap {
			t.Errorf("%s: copies %v, may copy %v", c.name, copies, may)
		}
		coupling, ok, err := FitCoupling(&sideBySide{v: [2][]float64{c.cam, c.crank}}, 0, 1, crank)
		if !ok || err != nil {
			t.Fatalf("%s: %v %v", c.name, ok, err)
		}
		left, err := Measure(coupling.Uncoupled(&sideBySide{v: [2][]float64{c.cam, c.crank}}, 0, 1), Options{OnCam: true})
		if err != nil {
			t.Fatal(err)
		}
		if left.Samples != int64(len(c.cam)) {
			t.Errorf("%s: %d samples, want %d", c.name, left.Samples, len(c.cam))
		}
		found, is := CamWheel(left, crank)
		if is = is && found.TeethPresent() == 3; is != c.want {
			t.Errorf("%s: %v, wheel %v", c.name, is, found)
		}
		if is && math.Abs(found.AnglesDeg[1]-found.AnglesDeg[0]-180) > 3 {
			t.Errorf("%s: wheel %v", c.name, found)
		}
	}
}
