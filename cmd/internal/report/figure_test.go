package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
)

func TestTicksAreRound(t *testing.T) {
	for _, x := range []struct {
		name string
		got  []tick
		want string
	}{
		{"volts", evenTicks(0, 12, mostTicks), "0 2 4 6 8 10 12"},
		{"millivolts", evenTicks(0.011, 0.032, mostTicks), "0.015 0.020 0.025 0.030"},
		{"about zero", evenTicks(-1, 1, mostTicks), "-1.0 -0.5 0.0 0.5 1.0"},
		{"a late second", evenTicks(1234.5, 1234.58, mostTicks), "1234.50 1234.51 1234.52 1234.53 1234.54 1234.55 1234.56 1234.57 1234.58"},
		{"speeds", ratioTicks(180, 6500), "200 500 1000 2000 5000"},
		{"half a decade", ratioTicks(0.1, 0.5), "0.1 0.2 0.3 0.4 0.5"},
		{"six decades", ratioTicks(1e-3, 1e3), "0.001 0.01 0.1 1 10 100 1000"},
		{"next to nothing", ratioTicks(1000, 1010), "1000 1002 1004 1006 1008 1010"},
		{"degrees", multiples(45, 0, 360), "0 45 90 135 180 225 270 315 360"},
	} {
		var labels []string
		for _, tick := range x.got {
			if tick.text != "" {
				labels = append(labels, tick.text)
			}
		}
		if got := strings.Join(labels, " "); got != x.want {
			t.Errorf("%s: %s, want %s", x.name, got, x.want)
		}
	}
}

// Ticks rise, lie within their axis, and say where they stand.
func FuzzTicks(f *testing.F) {
	f.Add(0.0, 1.0)
	f.Add(-3e-7, 2e9)
	f.Add(1e16, 1e16+2)
	f.Fuzz(func(t *testing.T, from, to float64) {
		if !(from < to) || math.IsInf(to-from, 0) || math.Abs(from) > 1e15*(to-from) {
			t.Skip()
		}
		check := func(list []tick) {
			for i, tick := range list {
				if i > 0 && tick.at <= list[i-1].at {
					t.Errorf("%v to %v: %v after %v", from, to, tick.at, list[i-1].at)
				}
				slack := 1e-6 * (to - from)
				if tick.at < from-slack || tick.at > to+slack {
					t.Errorf("%v is outside %v to %v", tick.at, from, to)
				}
				if shown, err := strconv.ParseFloat(tick.text, 64); tick.text != "" && (err != nil || math.Abs(shown-tick.at) > 1e-6*math.Max(math.Abs(tick.at), to-from)) {
					t.Errorf("%q stands at %v", tick.text, tick.at)
				}
			}
			if len(list) > 6000 {
				t.Errorf("%d ticks", len(list))
			}
		}
		check(evenTicks(from, to, mostTicks))
		if from > 0 && to/from > 1.0001 && !math.IsInf(to/from, 0) {
			check(ratioTicks(from, to))
			low, high := widenRatio(from, to)
			if low > from*(1+1e-9) || high < to*(1-1e-9) {
				t.Errorf("%v to %v widened to %v to %v", from, to, low, high)
			}
		}
	})
}

// wellFormed fails unless the picture is XML, with a name and a description,
// and every number in it is one.
func wellFormed(t *testing.T, c Chart) {
	t.Helper()
	var b bytes.Buffer
	if err := Picture(&b, c); err != nil {
		t.Fatal(err)
	}
	decoder := xml.NewDecoder(bytes.NewReader(b.Bytes()))
	seen := map[string]bool{}
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%v in %s", err, b.String())
		}
		start, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		seen[start.Name.Local] = true
		for _, a := range start.Attr {
			if place := a.Name.Local; slices.Contains([]string{"d", "x", "y", "width", "height", "viewBox", "transform"}, place) && (strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf")) {
				t.Errorf("%s has %s %q", start.Name.Local, place, a.Value)
			}
		}
	}
	if !seen["title"] || !seen["desc"] {
		t.Error("no title or no description")
	}
}

// A chart of any numbers at all is drawn without a hitch.
func FuzzFigure(f *testing.F) {
	f.Add(uint64(1), 1.0, 10.0, true, true)
	f.Add(uint64(2), 0.0, 0.0, true, false)
	f.Add(uint64(3), math.Inf(-1), math.NaN(), false, false)
	f.Add(uint64(4), 1e308, -1e308, false, true)
	f.Add(uint64(5), 5e-324, 1e308, true, false)
	f.Fuzz(func(t *testing.T, seed uint64, low, high float64, ratio, still bool) {
		random := rand.New(rand.NewPCG(seed, 1))
		v := func() float64 {
			switch random.IntN(8) {
			case 0:
				return 0
			case 1:
				return math.NaN()
			case 2:
				return math.Inf(1 - 2*random.IntN(2))
			}
			return low + random.Float64()*(high-low)
		}
		c := Chart{Name: "fuzz", Title: "any", Caption: "Any.", X: Axis{Label: "x", Ratio: ratio, Standstill: ratio && still}, Y: Axis{Label: "y", Ratio: ratio}}
		band, line, dots := Band{Label: "band", Fill: Hatched}, Line{Label: "line", Stroke: Firm}, Dots{Label: "dots", Mark: Ring}
		for range 20 {
			band.Spans = append(band.Spans, Span{v(), v(), v()})
			line.Points = append(line.Points, Point{v(), v()})
			dots.At = append(dots.At, Dot{X: v(), Y: v(), Low: v(), High: v(), Text: fmt.Sprint(v())})
		}
		c.Bands, c.Lines, c.Dots, c.Rules = []Band{band}, []Line{line}, []Dots{dots}, []Rule{{Label: "rule", At: v(), Level: still}}
		wellFormed(t, c)
	})
}

// Places on an axis: ends at its ends, equal ratios alike, 0 beside it.
func TestScale(t *testing.T) {
	s := scale{from: 100, to: 10000, start: 200, end: 400, ratio: true, hasStill: true, stillFrom: 100, stillTo: 140}
	for v, want := range map[float64]float64{100: 200, 1000: 300, 10000: 400, 0: 120} {
		if got, ok := s.at(v); !ok || math.Abs(got-want) > 1e-9 {
			t.Errorf("%v stands at %v, want %v", v, got, want)
		}
	}
	for _, v := range []float64{-1, 50, 20000, math.NaN(), math.Inf(1)} {
		if got, ok := s.at(v); ok {
			t.Errorf("%v stands at %v, want nowhere", v, got)
		}
	}
}

// A line is broken where it is not known, and at the edge of the picture.
func TestLineIsBroken(t *testing.T) {
	f := layOut(Chart{Name: "x", X: Axis{To: 10, Hard: true}, Y: Axis{To: 10, Hard: true}, Lines: []Line{{Stroke: Firm, Points: []Point{{0, 1}, {1, 1}, {2, math.NaN()}, {3, 1}, {4, 1}, {5, 99}, {6, 1}, {7, 1}}}}}, "x")
	if got := strings.Count(f.Shapes[0].D, "M"); got != 3 {
		t.Errorf("%s has %d strokes, want 3", f.Shapes[0].D, got)
	}
}

// A band is there only where its upper edge is above the lower.
func TestBandIsOpenOnly(t *testing.T) {
	f := layOut(Chart{Name: "x", X: Axis{To: 10, Hard: true}, Y: Axis{To: 10, Hard: true}, Bands: []Band{{Fill: Hatched, Spans: []Span{{0, 1, 2}, {1, 1, 2}, {2, 2, 1}, {3, 1, 2}, {4, 1, 2}}}}}, "x")
	if got := strings.Count(f.Shapes[0].D, "Z"); got != 2 || f.Shapes[0].Fill != "url(#x-hatched)" || len(f.Patterns) != 1 {
		t.Errorf("%+v with %d outlines, want 2", f.Shapes[0], got)
	}
}
