package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"armcurve/captures"
	"armcurve/threshold"
)

// strokeOfPart tells the parts of the noise ceiling apart.
var strokeOfPart = map[string]Stroke{
	threshold.PartNoise: Dotted, threshold.PartSpikes: Long, threshold.PartHump: DashDot, threshold.PartChatter: Short,
}

func (p tablePicture) amplitude() Chart {
	c := Chart{
		Name: "amplitude", Title: "The threshold between noise and weakest tooth", Caption: p.roomCaption(),
		X: p.x, Y: Axis{Label: "V at the sensor, from the rest level", Ratio: true, Hard: true},
	}
	c.Y.From, c.Y.To = p.voltsShown()
	c.Bands = p.bands()
	if high := p.Sensor.Curve.HighRPM; high < p.Sensor.LimitRPM {
		c.Rules = append(c.Rules, Rule{Label: "peaks read up to here", At: high, Stroke: Fine})
	}
	c.Lines = append(p.noiseLines(), p.toothLines()...)
	c.Lines = append(c.Lines, Line{Label: "threshold", Stroke: Heavy, Points: p.thresholdPoints()})
	c.Dots = append(readingDots(p.Sensor), p.rowDots())
	c.Numbers = []Table{p.amplitudeTable()}
	if t := p.partsTable(); t != nil {
		c.Numbers = append(c.Numbers, *t)
	}
	return c
}

// roomCaption says where the window is narrowest.
func (p tablePicture) roomCaption() string {
	if !p.Sensor.NoiseKnown() {
		return "The noise was not measured: only the weakest tooth bounds the thresholds, from above."
	}
	least, at := math.Inf(1), 0.0
	for _, m := range p.along {
		if m.NoiseV.Value > 0 && m.WeakestV/m.NoiseV.Value < least {
			least, at = m.WeakestV/m.NoiseV.Value, m.RPM
		}
	}
	switch {
	case math.IsInf(least, 1):
		return "No noise is to be expected: only the weakest tooth bounds the thresholds, from above."
	case least <= 1:
		return fmt.Sprintf("Noise reaches the weakest tooth: at %s rpm, where it is worst, that is %s × the noise, and no threshold can tell them apart.", rpmText(at), marginText(least))
	}
	return fmt.Sprintf("There is room between noise and weakest tooth at every speed, least at %s rpm: the weakest tooth is %s × the noise there.", rpmText(at), marginText(least))
}

// mostVolts is how many times the least volts shown the most may be.
const mostVolts = 1e4

// voltsShown is the range of volts that holds everything but negligible noise.
func (p tablePicture) voltsShown() (from, to float64) {
	e := extent{math.Inf(1), math.Inf(-1), true}
	for _, s := range p.samples {
		e.add(s.HighV)
		e.add(s.WeakestV)
		e.add(s.NoiseV.Value)
	}
	for _, row := range p.Table.Rows {
		e.add(row.ThresholdV.Value)
	}
	for _, r := range p.Sensor.Readings() {
		e.add(r.PeakV.Value)
	}
	return widenRatio(max(e.low, e.high/mostVolts), e.high)
}

func (p tablePicture) bands() []Band {
	bound := Band{Label: "bounds of one further reading", Fill: Tinted}
	for _, s := range p.samples {
		bound.Spans = append(bound.Spans, Span{s.RPM, s.LowV, s.HighV})
	}
	window := Band{Label: "window for the threshold", Fill: Hatched}
	closed := Band{Fill: Crossed}
	for _, m := range p.along {
		if !m.NoiseV.Known {
			continue
		}
		window.Spans = append(window.Spans, Span{m.RPM, m.NoiseV.Value, m.WeakestV})
		closed.Spans = append(closed.Spans, Span{m.RPM, m.WeakestV, m.NoiseV.Value})
		if m.NoiseV.Value >= m.WeakestV {
			closed.Label = "no window: noise reaches the weakest tooth"
		}
	}
	return []Band{bound, window, closed}
}

// split draws the points beyond what was measured otherwise than the rest; the
// stretch that joins the two is beyond.
func split(l Line, beyond func(rpm float64) bool) []Line {
	inside, outside := Line{Label: l.Label, Stroke: l.Stroke}, Line{Stroke: Beyond}
	gap := Point{Y: math.NaN()}
	for i, at := range l.Points {
		wasBeyond := i > 0 && beyond(l.Points[i-1].X)
		switch {
		case beyond(at.X):
			if i > 0 && !wasBeyond {
				outside.Points = append(outside.Points, gap, l.Points[i-1])
			}
			outside.Points = append(outside.Points, at)
		case wasBeyond:
			outside.Points = append(outside.Points, at)
			inside.Points = append(inside.Points, gap, at)
		default:
			inside.Points = append(inside.Points, at)
		}
	}
	return []Line{inside, outside}
}

func (p tablePicture) beyondPeaks(rpm float64) bool {
	return rpm < p.Sensor.Curve.LowRPM || rpm > p.Sensor.Curve.HighRPM
}

func (p tablePicture) beyondNoise(rpm float64) bool { return rpm > p.noiseRPM }

func (p tablePicture) noiseLines() []Line {
	if !p.Sensor.NoiseKnown() {
		return nil
	}
	var lines []Line
	var setBy []string
	for _, part := range p.partsPresent() {
		under, sets := p.partUnderCeiling(part)
		if sets {
			setBy = append(setBy, part)
		}
		if len(under.Points) > 0 {
			lines = append(lines, under)
		}
	}
	ceiling := Line{Label: "noise ceiling, set by " + strings.Join(setBy, " and "), Stroke: Dashed}
	for _, m := range p.along {
		ceiling.Points = append(ceiling.Points, Point{m.RPM, m.NoiseV.Value})
	}
	return append(split(ceiling, p.beyondNoise), lines...)
}

// partUnderCeiling draws a part of the noise ceiling where it does not set it,
// and tells whether it does anywhere.
func (p tablePicture) partUnderCeiling(part string) (line Line, sets bool) {
	line = Line{Label: "part of it: " + part, Stroke: strokeOfPart[part]}
	any := false
	for _, s := range p.samples {
		v := s.NoiseParts[part]
		if v >= s.NoiseV.Value {
			v, sets = math.NaN(), true
		} else if v > 0 {
			any = true
		}
		line.Points = append(line.Points, Point{s.RPM, v})
	}
	if !any {
		line.Points = nil
	}
	return line, sets
}

// partsPresent are the parts of the noise ceiling that are reckoned with.
func (p tablePicture) partsPresent() []string {
	var parts []string
	for _, part := range []string{threshold.PartNoise, threshold.PartSpikes, threshold.PartHump, threshold.PartChatter} {
		if slices.ContainsFunc(p.samples, func(s SampleJSON) bool { return s.NoiseParts[part] > 0 }) {
			parts = append(parts, part)
		}
	}
	return parts
}

func (p tablePicture) toothLines() []Line {
	curve, weakest := Line{Label: "mean peak, fitted", Stroke: Fine}, Line{Label: "weakest tooth", Stroke: Firm}
	for _, s := range p.samples {
		curve.Points = append(curve.Points, Point{s.RPM, s.PeakV})
	}
	for _, m := range p.along {
		weakest.Points = append(weakest.Points, Point{m.RPM, m.WeakestV})
	}
	lines := append(split(curve, p.beyondPeaks), split(weakest, p.beyondPeaks)...)
	if beyond := &lines[len(lines)-1]; len(beyond.Points) > 0 {
		beyond.Label = "beyond what was measured"
	}
	return lines
}

// thresholdPoints follow the table, whose straight lines bend on an axis of
// ratios.
func (p tablePicture) thresholdPoints() []Point {
	speeds := []float64{0}
	const points = 160
	for i := range points + 1 {
		speeds = append(speeds, p.x.From*math.Pow(p.x.To/p.x.From, float64(i)/points))
	}
	for _, row := range p.Table.Rows {
		speeds = append(speeds, row.RPM)
		if p.Table.BetweenRows == threshold.Step {
			speeds = append(speeds, math.Nextafter(row.RPM, 0))
		}
	}
	slices.Sort(speeds)
	var line []Point
	for _, rpm := range slices.Compact(speeds) {
		line = append(line, Point{rpm, known(p.Table.At(rpm))})
	}
	return line
}

// known is NaN for what is not.
func known(m captures.Maybe) float64 { return m.Or(math.NaN()) }

func (p tablePicture) rowDots() Dots {
	d := Dots{Label: "row of the table", Mark: Square}
	for _, row := range p.Table.Rows {
		d.At = append(d.At, Dot{X: row.RPM, Y: known(row.ThresholdV)})
	}
	return d
}

// readingDots are the peaks read, with the scatter of one reading.
func readingDots(s *threshold.Sensor) []Dots {
	fitted := Dots{Label: "reading, ± its scatter", Mark: Disc}
	leftOut := Dots{Label: "reading left out", Mark: Cross}
	clipped := Dots{Label: "clipped reading: the peak is higher", Mark: Up}
	for _, r := range s.Readings() {
		dot := Dot{X: r.RPM, Y: r.PeakV.Value}
		switch r.Use {
		case threshold.Fitted:
			dot.Low, dot.High = dot.Y*math.Exp(-s.ReadingScatter()), dot.Y*math.Exp(s.ReadingScatter())
			fitted.At = append(fitted.At, dot)
		case threshold.LeftOut:
			leftOut.At = append(leftOut.At, dot)
		case threshold.Limit:
			clipped.At = append(clipped.At, dot)
		}
	}
	return []Dots{fitted, leftOut, clipped}
}

func (p tablePicture) amplitudeTable() Table {
	t := Table{Title: "along the speeds", Columns: []Column{
		{Head: "rpm", Key: "rpm"}, {Head: "threshold V", Key: "threshold_v"}, {Head: "weakest V", Key: "weakest_v"}, {Head: "noise V", Key: "noise_v"},
		{Head: "peak V", Key: "peak_v"}, {Head: "at least V", Key: "low_v"}, {Head: "at most V", Key: "high_v"}, {Head: "beyond", Key: "extrapolated", Left: true},
	}}
	blank := Cell{Text: unknown}
	still := p.along[0]
	t.Rows = append(t.Rows, []Cell{rpmCell(0), voltCell(still.ThresholdV), voltCell(captures.Some(still.WeakestV)), voltCell(still.NoiseV), blank, blank, blank, blank})
	for _, s := range p.samples {
		v := func(v float64) Cell { return voltCell(captures.Some(v)) }
		t.Rows = append(t.Rows, []Cell{rpmCell(s.RPM), voltCell(thresholdV(p.Table.At(s.RPM))), v(s.WeakestV), voltCell(s.NoiseV), v(s.PeakV), v(s.LowV), v(s.HighV), yesNo(s.Extrapolated)})
	}
	return t
}

// partsTable gives the parts of the noise ceiling; nil without any.
func (p tablePicture) partsTable() *Table {
	parts := p.partsPresent()
	if len(parts) == 0 {
		return nil
	}
	t := Table{Title: "parts of the noise ceiling", Columns: []Column{{Head: "rpm", Key: "rpm"}}}
	for _, part := range parts {
		t.Columns = append(t.Columns, Column{Head: part + " V", Key: part})
	}
	for _, s := range p.samples {
		row := []Cell{rpmCell(s.RPM)}
		for _, part := range parts {
			row = append(row, voltCell(captures.Some(s.NoiseParts[part])))
		}
		t.Rows = append(t.Rows, row)
	}
	return &t
}
