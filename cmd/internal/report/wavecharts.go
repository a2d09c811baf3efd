package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"armcurve/captures"
)

// RecordChart shows a whole record, its samples stepS seconds apart from
// startS on.
func RecordChart(name, title, caption string, e *Extremes, startS, stepS float64) Chart {
	c := Chart{Name: name, Title: title, Caption: caption, X: timeAxis(), Y: voltAxis()}
	band := Band{Label: "lowest to highest sample", Fill: Inked}
	out := Dots{Label: "the instrument ran out of range", Mark: Up}
	t := Table{Columns: []Column{{Head: "t s", Key: "t_s"}, {Head: "lowest V", Key: "low_v"}, {Head: "highest V", Key: "high_v"}}}
	first := int64(0)
	for _, column := range e.columns {
		atS := startS + stepS*(float64(first)+float64(column.samples-1)/2)
		first += column.samples
		if column.low > column.high {
			continue // nothing in it is a number
		}
		band.Spans = append(band.Spans, Span{atS, column.low, column.high})
		if column.overRange {
			out.At = append(out.At, Dot{X: atS, Y: column.high})
		}
		t.Rows = append(t.Rows, []Cell{brief(atS, 6), brief(column.low, 4), brief(column.high, 4)})
	}
	c.Bands, c.Dots, c.Numbers = []Band{thick(band)}, []Dots{out}, []Table{t}
	return c
}

// thick keeps a band from vanishing where its stretch holds one value.
func thick(b Band) Band {
	for i, s := range b.Spans {
		if s.Low == s.High {
			hair := max(math.Abs(s.High), 1e-3) * 1e-3
			b.Spans[i].Low, b.Spans[i].High = s.Low-hair, s.High+hair
		}
	}
	return b
}

func timeAxis() Axis { return Axis{Label: "time in the file, s"} }
func voltAxis() Axis { return Axis{Label: "V, arming side up"} }

// brief is a number with so many digits, the same for people and programs.
func brief(v float64, digits int) Cell {
	text := strconv.FormatFloat(v, 'g', digits, 64)
	if rounded, err := strconv.ParseFloat(text, 64); err == nil {
		text = strconv.FormatFloat(rounded, 'f', -1, 64)
	}
	return Cell{text, text}
}

// Excerpt is a stretch of a wave and what was made of it. Samples stand StepS
// seconds apart from StartS on, the file's own time, arming side up, from the
// rest level; volts alike.
type Excerpt struct {
	StartS, StepS float64
	V             []float64
	Teeth         []captures.Tooth
	Threshold     []Point // volts over the file's time
	ArmedS        []float64
	EventS        []float64 // counted on a tooth
	FalseS        []float64 // counted beside one
	MissedS       []float64 // where a tooth was not counted
}

// mostPoints is how many points of a wave a picture draws; of more, the lowest
// and highest of each stretch.
const mostPoints = 1200

// WaveChart shows a stretch of a wave: one trace, the threshold, where the
// input armed and counted, and the teeth by their numbers.
func WaveChart(name, title, caption string, x Excerpt) Chart {
	c := Chart{Name: name, Title: title, Caption: caption, X: timeAxis(), Y: Axis{Label: "V from the rest level, arming side up"}, Zoom: true}
	wave := Line{Label: "wave", Stroke: Fine, Points: thinned(x.points())}
	c.Rules = []Rule{{At: 0, Level: true, Stroke: Dotted}}
	c.Lines = []Line{wave, {Label: "threshold", Stroke: Heavy, Points: x.Threshold}}
	c.Dots = []Dots{
		{Label: "armed", Mark: Up, At: x.dots(x.ArmedS)},
		{Label: "counted", Mark: Down, At: x.dots(x.EventS)},
		{Label: "counted beside a tooth", Mark: Ring, At: x.dots(x.FalseS)},
		{Label: "tooth not counted", Mark: Cross, At: x.dots(x.MissedS)},
		x.numbers(),
	}
	t := Table{Columns: []Column{{Head: "t s", Key: "t_s"}, {Head: "V", Key: "v"}}}
	for _, p := range wave.Points {
		if !math.IsNaN(p.Y) {
			t.Rows = append(t.Rows, []Cell{brief(p.X, 9), brief(p.Y, 4)})
		}
	}
	c.Numbers = []Table{t}
	return c
}

// points are the samples; what is not a finite number interrupts the line.
func (x Excerpt) points() []Point {
	points := make([]Point, len(x.V))
	for i, v := range x.V {
		if math.IsInf(v, 0) {
			v = math.NaN()
		}
		points[i] = Point{x.StartS + float64(i)*x.StepS, v}
	}
	return points
}

// at is the wave at a time, between its samples.
func (x Excerpt) at(timeS float64) float64 {
	place := (timeS - x.StartS) / x.StepS
	i := int(math.Floor(place))
	switch {
	case i < 0 || i >= len(x.V):
		return math.NaN()
	case i == len(x.V)-1:
		return x.V[i]
	}
	return x.V[i] + (place-float64(i))*(x.V[i+1]-x.V[i])
}

func (x Excerpt) dots(timesS []float64) []Dot {
	var list []Dot
	for _, timeS := range timesS {
		list = append(list, Dot{X: timeS, Y: x.at(timeS)})
	}
	return list
}

// numbers stand above the teeth. A tooth's time is its fall, a little after
// its top.
func (x Excerpt) numbers() Dots {
	d := Dots{Mark: Bare}
	for _, tooth := range x.Teeth {
		if tooth.Number > 0 && !math.IsNaN(tooth.PeakV) {
			d.At = append(d.At, Dot{X: tooth.TimeS, Y: tooth.PeakV, Text: strconv.Itoa(tooth.Number)})
		}
	}
	return d
}

// thinned keeps the lowest and the highest of each stretch of points, in the
// order of time, so that nothing that stands out is lost.
func thinned(points []Point) []Point {
	if len(points) <= mostPoints {
		return points
	}
	const stretches = mostPoints / 2
	var kept []Point
	for i := range stretches {
		part := points[i*len(points)/stretches : (i+1)*len(points)/stretches]
		low, high := lowestHighest(part)
		kept = append(kept, part[min(low, high)])
		if low != high {
			kept = append(kept, part[max(low, high)])
		}
	}
	return kept
}

// lowestHighest are the places of both; a gap in the line counts as neither
// unless it is all there is.
func lowestHighest(part []Point) (low, high int) {
	for i, p := range part {
		if math.IsNaN(part[low].Y) || p.Y < part[low].Y {
			low = i
		}
		if math.IsNaN(part[high].Y) || p.Y > part[high].Y {
			high = i
		}
	}
	return low, high
}

// ToothHeight is the peak of one tooth over the turns, in volts.
type ToothHeight struct {
	Number             int
	MeanV, LowV, HighV float64
}

// TeethChart shows peaks by tooth about their mean: run-out as a wave around
// the wheel, a short tooth by itself. The weakest is ringed.
func TeethChart(name, title, caption string, heights []ToothHeight) Chart {
	c := Chart{Name: name, Title: title, Caption: caption, X: Axis{Label: "tooth, the first after the longest gap is 1", To: float64(len(heights) + 1)}, Y: Axis{Label: "V from the rest level"}}
	teeth := Dots{Label: "mean peak of a tooth, lowest to highest", Mark: Disc}
	t := Table{Columns: []Column{{Head: "tooth", Key: "tooth"}, {Head: "peak V", Key: "peak_v"}, {Head: "lowest V", Key: "low_v"}, {Head: "highest V", Key: "high_v"}}}
	sum := 0.0
	for _, h := range heights {
		sum += h.MeanV
		teeth.At = append(teeth.At, Dot{X: float64(h.Number), Y: h.MeanV, Low: h.LowV, High: h.HighV})
		v := func(v float64) Cell { return voltCell(captures.Some(v)) }
		t.Rows = append(t.Rows, []Cell{rpmCell(float64(h.Number)), v(h.MeanV), v(h.LowV), v(h.HighV)})
	}
	c.Dots, c.Numbers = []Dots{teeth}, []Table{t}
	if len(heights) > 0 {
		c.Rules = []Rule{{Label: "mean", At: sum / float64(len(heights)), Level: true, Stroke: Dashed}}
		weakest := slices.MinFunc(teeth.At, func(a, b Dot) int { return cmp.Compare(a.Y, b.Y) })
		weakest.Low, weakest.High = 0, 0
		c.Dots = append(c.Dots, Dots{Label: "weakest tooth", Mark: Ring, At: []Dot{weakest}})
	}
	return c
}

// AngleEvent is a false event where on the crank and at what speed it came.
type AngleEvent struct{ CrankDeg, RPM float64 }

// mostRows is how many rows the numbers behind a picture of single events have.
const mostRows = 400

// AngleChart shows false events by crank angle: locked to the crank they stand
// in columns, at random they are everywhere. spanDeg is 360, or 720 where the
// angle is known over the whole cycle.
func AngleChart(name, title, caption string, events []AngleEvent, spanDeg float64) Chart {
	c := Chart{
		Name: name, Title: title, Caption: caption,
		X: Axis{Label: "crank angle from the fall of tooth 1, degrees", From: 0, To: spanDeg, Hard: true, Step: spanDeg / 8}, Y: Axis{Label: "engine speed, rpm"},
	}
	dots := Dots{Label: "false event", Mark: Disc}
	t := Table{Columns: []Column{{Head: "crank deg", Key: "crank_deg"}, {Head: "rpm", Key: "rpm"}}}
	for i, e := range events {
		dots.At = append(dots.At, Dot{X: e.CrankDeg, Y: e.RPM})
		if i < mostRows {
			t.Rows = append(t.Rows, []Cell{brief(e.CrankDeg, 4), rpmCell(e.RPM)})
		}
	}
	if len(events) > mostRows {
		t.Title = "the first " + strconv.Itoa(mostRows) + " of " + strconv.Itoa(len(events)) + " events"
	}
	c.Dots, c.Numbers = []Dots{dots}, []Table{t}
	return c
}

// SpeedChart shows engine speed over the file's time.
func SpeedChart(name, title, caption string, speed []Point) Chart {
	c := Chart{Name: name, Title: title, Caption: caption, X: timeAxis(), Y: Axis{Label: "engine speed, rpm"}}
	line := Line{Label: "engine speed", Stroke: Firm, Points: thinned(speed)}
	t := Table{Columns: []Column{{Head: "t s", Key: "t_s"}, {Head: "rpm", Key: "rpm"}}}
	for _, p := range line.Points {
		t.Rows = append(t.Rows, []Cell{brief(p.X, 6), {rpmText(p.Y), exactly(p.Y)}})
	}
	c.Lines, c.Numbers = []Line{line}, []Table{t}
	return c
}
