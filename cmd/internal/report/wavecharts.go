package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"armcurve/threshold/replay"
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

// Excerpt is a stretch of a wave and what was made of it: over the file's own
// time in seconds, volts from the rest level, arming side up.
type Excerpt struct {
	Wave      []Point // thinned; a Y of NaN interrupts it
	Teeth     []Dot   // their tops and numbers
	Threshold []Point
	Armed     []Point
	Counted   []Point // events of teeth
	False     []Point // events beside teeth
	Missed    []Point // tops of teeth that were not counted
}

// mostPoints is how many points of a wave a picture draws; of more, the lowest
// and highest of each stretch.
const mostPoints = 1000

// WaveChart shows a stretch of a wave: one trace, the threshold, where the
// input armed and counted, and the teeth by their numbers.
func WaveChart(name, title, caption string, x Excerpt) Chart {
	c := Chart{Name: name, Title: title, Caption: caption, X: timeAxis(), Y: Axis{Label: "V from the rest level, arming side up"}, Zoom: true}
	c.Rules = []Rule{{At: 0, Level: true, Stroke: Dotted}}
	c.Lines = []Line{{Label: "wave", Stroke: Fine, Points: x.Wave}}
	if len(x.Threshold) > 0 {
		c.Lines = append(c.Lines, Line{Label: "threshold", Stroke: Heavy, Points: x.Threshold})
	}
	c.Dots = []Dots{
		{Label: "armed", Mark: Up, At: dotsAt(x.Armed)},
		{Label: "counted", Mark: Down, At: dotsAt(x.Counted)},
		{Label: "counted beside a tooth", Mark: Ring, At: dotsAt(x.False)},
		{Label: "tooth not counted", Mark: Cross, At: dotsAt(x.Missed)},
		{Mark: Bare, At: x.Teeth},
	}
	t := Table{Columns: []Column{{Head: "t s", Key: "t_s"}, {Head: "V", Key: "v"}}}
	for _, p := range x.Wave {
		if p.Y == p.Y {
			c.Y.To = max(c.Y.To, headRoom*p.Y)
			t.Rows = append(t.Rows, []Cell{brief(p.X, 9), brief(p.Y, 4)})
		}
	}
	c.Numbers = []Table{t}
	if marks := x.marks(); len(marks.Rows) > 0 {
		c.Numbers = append(c.Numbers, marks)
	}
	return c
}

// headRoom leaves room for the teeth's numbers above the wave.
const headRoom = 1.1

func dotsAt(points []Point) []Dot {
	var list []Dot
	for _, p := range points {
		list = append(list, Dot{X: p.X, Y: p.Y})
	}
	return list
}

// marks lists what is marked in the picture, in the order of time.
func (x Excerpt) marks() Table {
	t := Table{Title: "marked in it", Columns: []Column{{Head: "t s", Key: "t_s"}, {Head: "V", Key: "v"}, {Head: "what", Key: "what", Left: true}}}
	type mark struct {
		Point
		what string
	}
	var list []mark
	for _, d := range x.Teeth {
		list = append(list, mark{Point{d.X, d.Y}, "top of tooth " + d.Text})
	}
	for _, m := range []struct {
		points []Point
		what   string
	}{{x.Armed, "armed"}, {x.Counted, "counted"}, {x.False, "counted beside a tooth"}, {x.Missed, "not counted"}} {
		for _, p := range m.points {
			list = append(list, mark{p, m.what})
		}
	}
	slices.SortStableFunc(list, func(a, b mark) int { return cmp.Compare(a.X, b.X) })
	for _, m := range list {
		t.Rows = append(t.Rows, []Cell{brief(m.X, 9), brief(m.Y, 4), word(m.what)})
	}
	return t
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

// TeethChart shows the height of each tooth, from number 1 on, as a share of the
// mean tooth: run-out as a wave around the wheel, a short tooth by itself. The
// weakest is ringed.
func TeethChart(name, title, caption string, shares []float64) Chart {
	c := Chart{
		Name: name, Title: title, Caption: caption,
		X: Axis{Label: "tooth, the first after the longest gap is 1", To: float64(len(shares) + 1)}, Y: Axis{Label: "peak ÷ mean tooth's peak", From: 0.9, To: 1.1},
	}
	teeth := Dots{Label: "a tooth", Mark: Disc}
	t := Table{Columns: []Column{{Head: "tooth", Key: "tooth"}, {Head: "of the mean", Key: "of_mean"}}}
	for i, share := range shares {
		teeth.At = append(teeth.At, Dot{X: float64(i + 1), Y: share})
		t.Rows = append(t.Rows, []Cell{rpmCell(float64(i + 1)), ratioCell(share)})
	}
	c.Rules = []Rule{{At: 1, Level: true, Stroke: Dashed}}
	c.Dots, c.Numbers = []Dots{teeth}, []Table{t}
	if at := weakest(shares); at >= 0 {
		c.Dots = append(c.Dots, Dots{Label: "the weakest", Mark: Ring, At: teeth.At[at : at+1]})
	}
	return c
}

// weakest is the place of the lowest share; -1 where there is none.
func weakest(shares []float64) int {
	at := -1
	for i, share := range shares {
		if share == share && (at < 0 || share < shares[at]) {
			at = i
		}
	}
	return at
}

// mostRows is how many rows the numbers behind a picture of single events have.
const mostRows = 400

// AngleChart shows false events by crank angle: locked to the crank they stand
// in columns, at random they are everywhere. spanDeg is 360, or 720 where the
// angle is known over the whole cycle.
func AngleChart(name, title, caption string, events []replay.Place, spanDeg float64) Chart {
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
		if p.Y == p.Y {
			t.Rows = append(t.Rows, []Cell{brief(p.X, 6), {rpmText(p.Y), exactly(p.Y)}})
		}
	}
	c.Lines, c.Numbers = []Line{line}, []Table{t}
	return c
}
