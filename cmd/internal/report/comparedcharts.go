package report

import (
	"fmt"
	"slices"
	"strings"

	"armcurve/captures"
	"armcurve/threshold"
)

// comparedCharts are the pictures of what changed.
func comparedCharts(x threshold.Comparison) []Chart {
	list := []Chart{beforeAfter(x)}
	if len(x.Samples) > 1 {
		list = append(list, ratioChart(x))
	}
	if x.Check != nil {
		for _, c := range judgedCharts(*x.Check) {
			c.Title = "The old table on the new readings: " + strings.ToLower(c.Title[:1]) + c.Title[1:]
			list = append(list, c)
		}
	}
	return list
}

func beforeAfter(x threshold.Comparison) Chart {
	before, after := curveJSON(x.Before).Samples, curveJSON(x.After).Samples
	c := Chart{
		Name: "before-after", Title: "Amplitude before and after",
		Caption: "The mean peak went " + strings.Join(peaksAtEnds(x), ", and ") + ".",
		X:       speedAxis(min(before[0].RPM, after[0].RPM), max(x.Before.LimitRPM, x.After.LimitRPM)),
		Y:       Axis{Label: "V at the sensor, from the rest level", Ratio: true},
	}
	c.Bands = []Band{{"bounds before", Tinted, boundOf(before)}, {"bounds after", Hatched, boundOf(after)}}
	c.Lines = append(split(Line{"before", Dashed, curveOf(before)}, beyondReadings(x.Before)),
		split(Line{"after", Firm, curveOf(after)}, beyondReadings(x.After))...)
	for i, sensor := range []*threshold.Sensor{x.Before, x.After} {
		dots := readingDots(sensor)[0]
		dots.Mark, dots.Label = []Mark{Down, Disc}[i], []string{"reading before", "reading after"}[i]
		c.Dots = append(c.Dots, dots)
	}
	c.Numbers = []Table{ratioTable(x, false), curveTable("before", before), curveTable("after", after)}
	return c
}

// peaksAtEnds tells the peaks at the lowest and the highest speed compared.
func peaksAtEnds(x threshold.Comparison) []string {
	var list []string
	ends := []float64{x.Samples[0].RPM, x.Samples[len(x.Samples)-1].RPM}
	for _, rpm := range slices.Compact(ends) {
		list = append(list, fmt.Sprintf("from %s V to %s V at %s rpm", voltText(x.Before.Curve.At(rpm).V), voltText(x.After.Curve.At(rpm).V), rpmText(rpm)))
	}
	return list
}

func beyondReadings(s *threshold.Sensor) func(float64) bool {
	return func(rpm float64) bool { return rpm < s.Curve.LowRPM || rpm > s.Curve.HighRPM }
}

func boundOf(samples []SampleJSON) []Span {
	var spans []Span
	for _, s := range samples {
		spans = append(spans, Span{s.RPM, s.LowV, s.HighV})
	}
	return spans
}

func curveOf(samples []SampleJSON) []Point {
	var points []Point
	for _, s := range samples {
		points = append(points, Point{s.RPM, s.PeakV})
	}
	return points
}

func curveTable(title string, samples []SampleJSON) Table {
	t := Table{Title: title, Columns: []Column{
		{Head: "rpm", Key: "rpm"}, {Head: "peak V", Key: "peak_v"}, {Head: "at least V", Key: "low_v"}, {Head: "at most V", Key: "high_v"},
	}}
	for _, s := range samples {
		v := func(v float64) Cell { return voltCell(captures.Some(v)) }
		t.Rows = append(t.Rows, []Cell{rpmCell(s.RPM), v(s.PeakV), v(s.LowV), v(s.HighV)})
	}
	return t
}

func ratioChart(x threshold.Comparison) Chart {
	manner := "about the same at every speed"
	switch {
	case x.FallsWithSpeed:
		manner = "and falls with speed"
	case x.RisesWithSpeed:
		manner = "and rises with speed"
	}
	c := Chart{
		Name: "ratio", Title: "Amplitude after ÷ before",
		Caption: fmt.Sprintf("After is %s × before (%s to %s), %s.", ratioText(x.Overall.Value), ratioText(x.Overall.Low), ratioText(x.Overall.High), manner),
		X:       speedAxis(x.Samples[0].RPM, x.Samples[len(x.Samples)-1].RPM),
		Y:       Axis{Label: "after ÷ before", From: 0.95, To: 1.05},
		Rules:   []Rule{{Label: "1: no change", At: 1, Level: true, Stroke: Fine}},
	}
	bound, line := Band{Label: "bounds", Fill: Hatched}, Line{Label: "ratio", Stroke: Firm}
	for _, s := range x.Samples {
		bound.Spans = append(bound.Spans, Span{s.RPM, s.Low, s.High})
		line.Points = append(line.Points, Point{s.RPM, s.Value})
	}
	overall := Line{Label: "over all speeds", Stroke: Dotted}
	for _, s := range []threshold.Ratio{x.Samples[0], x.Samples[len(x.Samples)-1]} {
		overall.Points = append(overall.Points, Point{s.RPM, x.Overall.Value})
	}
	c.Bands, c.Lines = []Band{bound}, []Line{overall, line}
	c.Numbers = []Table{ratioTable(x, false)}
	return c
}
