package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Measures of a picture, in the units of its view box. The type in it grows on
// a small screen, so there is room around the plot for letters twice the size.
const (
	figureWidth  = 720.0
	figureHeight = 440.0
	plotLeft     = 66.0
	plotRight    = 704.0
	plotTop      = 42.0
	plotBottom   = 372.0
	stillWidth   = 30.0
	stillGap     = 12.0
	labelWidth   = 30.0
)

// figure is a chart laid out: what the template draws.
type figure struct {
	Chart
	ID            string // of the picture in the page
	Desc          string
	Style         template.CSS // of a picture that stands alone
	Width, Height string
	// GridAcross are the labelled lines that stand at an X.
	Grid, GridAcross, LesserGrid string
	Frames                       []box
	Patterns                     []pattern
	Shapes                       []shape
	Texts                        []placedText
	Keys                         []key
	Reach                        reach

	x, y scale
}

type box struct{ X, Y, Width, Height string }

type pattern struct{ ID, D string }

// shape is one path.
type shape struct {
	Class string
	D     string
	Fill  string // the pattern that fills it, "" for none
	// Offset is how far each of its parts begins from the place it marks.
	Offset string
}

// placedText is a text at a place, moved from there by DY.
type placedText struct {
	Class, X, Y, DY, Text string
	Hidden                bool // there is no room for it, unless looked at closer
}

// key explains how something is drawn.
type key struct {
	Label    string
	LookName string
	Shape    shape
	X, Y     string // its place, in a picture that stands alone
}

// reach is what a read-out needs to turn a place into a value.
type reach struct {
	Left, Right, Top, Bottom string
	From, To                 string
	Ratio                    bool
	Still                    string // the place of 0, "" for none
}

// layOut lays a chart out under an ID.
func layOut(c Chart, id string) figure {
	f := figure{Chart: c, ID: id, Width: place(figureWidth), Height: place(figureHeight)}
	f.scales()
	f.axes()
	for _, b := range c.Bands {
		f.band(b)
	}
	for _, r := range c.Rules {
		f.rule(r)
	}
	for _, l := range c.Lines {
		f.line(l)
	}
	for _, d := range c.Dots {
		f.dots(d)
	}
	f.Desc = f.describe()
	return f
}

// place writes a length as shortly as can be seen.
func place(v float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0")
}

func (f *figure) scales() {
	x, y := f.extents()
	f.x = scale{start: plotLeft, end: plotRight, ratio: f.X.Ratio, step: f.X.Step, across: true}
	f.x.from, f.x.to = x.ends()
	f.Frames = []box{{place(plotLeft), place(plotTop), place(plotRight - plotLeft), place(plotBottom - plotTop)}}
	if f.X.Standstill {
		f.x.hasStill, f.x.stillFrom, f.x.stillTo = true, plotLeft, plotLeft+stillWidth
		f.x.start += stillWidth + stillGap
		f.Frames[0] = box{place(f.x.start), place(plotTop), place(plotRight - f.x.start), place(plotBottom - plotTop)}
		f.Frames = append(f.Frames, box{place(plotLeft), place(plotTop), place(stillWidth), place(plotBottom - plotTop)})
	}
	f.y = scale{start: plotBottom, end: plotTop, ratio: f.Y.Ratio, step: f.Y.Step}
	f.y.from, f.y.to = y.ends()
	switch {
	case f.Y.Hard:
	case f.Y.Ratio:
		f.y.from, f.y.to = widenRatio(f.y.from, f.y.to)
	default:
		f.y.from, f.y.to = widen(f.y.from, f.y.to)
	}
	f.Reach = reach{
		Left: place(f.x.start), Right: place(f.x.end), Top: place(plotTop), Bottom: place(plotBottom),
		From: exactly(f.x.from), To: exactly(f.x.to), Ratio: f.x.ratio,
	}
	if f.x.hasStill {
		f.Reach.Still = place((f.x.stillFrom + f.x.stillTo) / 2)
	}
}

// extents are what the data span, or what the axes insist on.
func (f *figure) extents() (x, y extent) {
	x, y = newExtent(f.X), newExtent(f.Y)
	add := func(atX float64, atY ...float64) {
		if !f.X.Hard && !(f.X.Standstill && atX == 0) {
			x.add(atX)
		}
		for _, v := range atY {
			if !f.Y.Hard {
				y.add(v)
			}
		}
	}
	for _, b := range f.Bands {
		for _, s := range b.Spans {
			add(s.X, s.Low, s.High)
		}
	}
	for _, l := range f.Lines {
		for _, p := range l.Points {
			add(p.X, p.Y)
		}
	}
	for _, d := range f.Dots {
		for _, p := range d.At {
			add(p.X, p.Y)
			if p.Low != p.High {
				add(p.X, p.Low, p.High)
			}
		}
	}
	for _, r := range f.Rules {
		if r.Level {
			y.add(r.At)
		}
	}
	return x, y
}

// axes draws the grid and writes the ticks and labels.
func (f *figure) axes() {
	var grid, across, lesser strings.Builder
	before := 0.0 // where the last label ends
	for _, t := range f.x.ticks() {
		if at, ok := f.x.at(t.at); ok {
			fmt.Fprintf(gridOf(t, &across, &lesser), "M%s %sV%s", place(at), place(plotTop), place(plotBottom))
			label := tickAt(at, t.text)
			if label.Class != "tick x end" || figureWidth-float64(letterWidth*len(t.text)) > before {
				f.write(label)
			}
			before = at + float64(letterWidth*len(t.text))/2
		}
	}
	for _, t := range f.y.ticks() {
		if at, ok := f.y.at(t.at); ok {
			for _, frame := range f.Frames {
				fmt.Fprintf(gridOf(t, &grid, &lesser), "M%s %sh%s", frame.X, place(at), frame.Width)
			}
			f.write(textAt("tick y", plotLeft-7, at, ".35em", t.text))
		}
	}
	f.Grid, f.GridAcross, f.LesserGrid = grid.String(), across.String(), lesser.String()
	f.write(textAt("end", plotRight, plotBottom, "2.6em", f.X.Label))
	f.write(textAt("start", 2, 0, "1.1em", f.Y.Label))
}

// tickAt keeps the label of a tick at the right edge inside the picture.
func tickAt(at float64, text string) placedText {
	t := placedText{Class: "tick x", X: place(at), Y: place(plotBottom), DY: "1.25em", Text: text}
	if at > plotRight-12 {
		t.Class, t.X = "tick x end", place(figureWidth-2)
	}
	return t
}

func gridOf(t tick, grid, lesser *strings.Builder) *strings.Builder {
	if t.text == "" {
		return lesser
	}
	return grid
}

func (f *figure) write(t placedText) {
	if t.Text != "" {
		f.Texts = append(f.Texts, t)
	}
}

func textAt(class string, x, y float64, dy, text string) placedText {
	return placedText{Class: class, X: place(x), Y: place(y), DY: dy, Text: text}
}

// pen writes a path.
type pen struct {
	b    strings.Builder
	down bool
	last string
}

// to moves to a place, drawing if the pen is down, and puts it down. Places
// that look the same are one.
func (p *pen) to(x, y float64) {
	at := place(x) + " " + place(y)
	switch {
	case !p.down:
		p.b.WriteString("M" + at)
	case at != p.last:
		p.b.WriteString("L" + at)
	}
	p.down, p.last = true, at
}

func (p *pen) lift() { p.down = false }

// across draws the strip kept for 0 at a height.
func (f *figure) across(p *pen, y float64) {
	p.lift()
	p.to(f.x.stillFrom, y)
	p.to(f.x.stillTo, y)
	p.lift()
}

func (f *figure) line(l Line) {
	var p pen
	for _, at := range l.Points {
		x, okX := f.x.at(at.X)
		y, okY := f.y.at(at.Y)
		switch {
		case !okX || !okY:
			p.lift()
		case f.x.hasStill && at.X == 0:
			f.across(&p, y)
		default:
			p.to(x, y)
		}
	}
	f.Shapes = append(f.Shapes, shape{Class: "line " + string(l.Stroke), D: p.b.String()})
	f.explain(l.Label, "line", string(l.Stroke))
}

// band draws each unbroken stretch as one outline.
func (f *figure) band(b Band) {
	var p pen
	var run []Span
	for _, s := range b.Spans {
		still := f.x.hasStill && s.X == 0
		open := s.Low < s.High
		if open && still {
			f.stillBand(&p, s)
		}
		if !open || still {
			f.outline(&p, run)
			run = nil
			continue
		}
		run = append(run, s)
	}
	f.outline(&p, run)
	f.Shapes = append(f.Shapes, shape{Class: "band " + string(b.Fill), D: p.b.String(), Fill: f.pattern(b.Fill)})
	f.explain(b.Label, "band", string(b.Fill))
}

func (f *figure) stillBand(p *pen, s Span) {
	low, okLow := f.y.held(s.Low)
	high, okHigh := f.y.held(s.High)
	if okLow && okHigh {
		fmt.Fprintf(&p.b, "M%s %sH%sV%sH%sZ", place(f.x.stillFrom), place(low), place(f.x.stillTo), place(high), place(f.x.stillFrom))
	}
}

func (f *figure) outline(p *pen, run []Span) {
	p.lift()
	for _, s := range run {
		f.corner(p, s.X, s.High)
	}
	for i := len(run) - 1; i >= 0; i-- {
		f.corner(p, run[i].X, run[i].Low)
	}
	if p.down {
		p.b.WriteString("Z")
	}
	p.lift()
}

func (f *figure) corner(p *pen, atX, atY float64) {
	x, okX := f.x.at(atX)
	y, okY := f.y.held(atY)
	if okX && okY {
		p.to(x, y)
	}
}

// strokesOf are the lines of a pattern, once across a tile of 7 by 7.
var strokesOf = map[Fill]string{Hatched: "M0 0V7", Crossed: "M0 0V7M0 0H7"}

// pattern names the pattern of a fill; each picture has its own. "" where the
// fill needs none.
func (f *figure) pattern(fill Fill) string {
	strokes, ok := strokesOf[fill]
	if !ok {
		return ""
	}
	p := pattern{f.ID + "-" + string(fill), strokes}
	if !slices.Contains(f.Patterns, p) {
		f.Patterns = append(f.Patterns, p)
	}
	return "url(#" + p.ID + ")"
}

func (f *figure) rule(r Rule) {
	s := f.x
	if r.Level {
		s = f.y
	}
	at, ok := s.at(r.At)
	if !ok {
		return
	}
	d := fmt.Sprintf("M%s %sV%s", place(at), place(plotTop), place(plotBottom))
	switch {
	case r.Level:
		d = fmt.Sprintf("M%s %sH%s", place(plotLeft), place(at), place(plotRight))
		f.write(textAt("note end", plotRight-5, at, "-.35em", r.Label))
	case at < (plotLeft+plotRight)/2:
		f.write(textAt("note start", at+5, plotBottom, "-.5em", r.Label))
	default:
		f.write(textAt("note end", at-5, plotBottom, "-.5em", r.Label))
	}
	f.Shapes = append(f.Shapes, shape{Class: "line " + string(r.Stroke), D: d})
}

func (f *figure) dots(d Dots) {
	var bars, marks strings.Builder
	seen := map[string]bool{}
	labelled := math.Inf(-1)
	for _, dot := range d.At {
		x, okX := f.x.at(dot.X)
		y, okY := f.y.at(dot.Y)
		if !okX || !okY {
			continue
		}
		if dot.Low < dot.High {
			f.bar(&bars, x, dot)
		}
		// Dots that look the same are one: what they hide is nothing.
		if at := place(x) + " " + place(y); !seen[at] {
			seen[at] = true
			marks.WriteString(outlineOf(d.Mark, x, y))
		}
		label := textAt("note middle", x, y-9, "", dot.Text)
		if label.Hidden = x-labelled < labelWidth; !label.Hidden {
			labelled = x
		}
		f.write(label)
	}
	if bars.Len() > 0 {
		f.Shapes = append(f.Shapes, shape{Class: "line bar", D: bars.String()})
	}
	if marks.Len() > 0 {
		f.Shapes = append(f.Shapes, shape{Class: "mark " + string(d.Mark), D: marks.String(), Offset: offsets[d.Mark]})
		f.explain(d.Label, "mark", string(d.Mark))
	}
}

func (f *figure) bar(b *strings.Builder, x float64, dot Dot) {
	low, okLow := f.y.held(dot.Low)
	high, okHigh := f.y.held(dot.High)
	if okLow && okHigh {
		fmt.Fprintf(b, "M%s %sV%s", place(x), place(low), place(high))
		for _, end := range []float64{low, high} {
			fmt.Fprintf(b, "M%s %sh6", place(x-3), place(end))
		}
	}
}

// offsets are how far from its place a mark begins, across.
var offsets = map[Mark]string{Disc: "-3.5", Ring: "-7", Square: "-4", Cross: "-5"}

// outlineOf draws a mark.
func outlineOf(m Mark, x, y float64) string {
	at := func(dx, dy float64) string { return place(x+dx) + " " + place(y+dy) }
	switch m {
	case Disc:
		return "M" + at(-3.5, 0) + "a3.5 3.5 0 1 0 7 0a3.5 3.5 0 1 0-7 0z"
	case Ring:
		return "M" + at(-7, 0) + "a7 7 0 1 0 14 0a7 7 0 1 0-14 0z"
	case Square:
		return "M" + at(-4, -4) + "h8v8h-8z"
	case Cross:
		return "M" + at(-5, -5) + "l10 10M" + at(-5, 5) + "l10-10"
	case Up:
		return "M" + at(0, -5) + "l5 9h-10z"
	case Down:
		return "M" + at(0, 5) + "l5-9h-10z"
	}
	return ""
}

// explain adds to the key what has a label.
func (f *figure) explain(label, sort, look string) {
	if label == "" {
		return
	}
	s := shape{Class: sort + " " + look}
	switch sort {
	case "line":
		s.D = "M1 9H35"
	case "band":
		s.D, s.Fill = "M1 2H35V16H1Z", f.pattern(Fill(look))
	case "mark":
		s.D = outlineOf(Mark(look), 18, 9)
	}
	f.Keys = append(f.Keys, key{Label: label, LookName: looks[look], Shape: s})
}

// looks are how strokes, fills and marks are called.
var looks = map[string]string{
	"heavy": "heavy line", "firm": "firm line", "fine": "fine line", "dashed": "dashed line", "dotted": "dotted line",
	"dashdot": "dashes and dots", "long": "long dashes", "short": "short dashes", "beyond": "sparse dots",
	"hatched": "hatched", "crossed": "cross-hatched", "tinted": "tinted", "inked": "filled",
	"disc": "dots", "ring": "rings", "square": "squares", "cross": "crosses", "up": "triangles upward", "down": "triangles downward",
}

// describe says in words what is drawn.
func (f *figure) describe() string {
	var drawn []string
	for _, k := range f.Keys {
		drawn = append(drawn, k.Label+" ("+k.LookName+")")
	}
	text := fmt.Sprintf("%s Across: %s, %s to %s. Up: %s, %s to %s.", f.Caption,
		f.X.Label, short(f.x.from), short(f.x.to), f.Y.Label, short(f.y.from), short(f.y.to))
	if drawn != nil {
		text += " Drawn: " + strings.Join(drawn, "; ") + "."
	}
	return text
}

func short(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

// Measures of the key of a picture that stands alone.
const (
	keyTop    = figureHeight - 14
	keyHeight = 22.0
)

// standAlone gives the picture its own style, ground and key.
func (f *figure) standAlone(style string) {
	f.Style = template.CSS(style)
	rows := (len(f.Keys) + 1) / 2
	for i := range f.Keys {
		f.Keys[i].X = place(plotLeft + float64(i/rows)*(plotRight-plotLeft)/2)
		f.Keys[i].Y = place(keyTop + float64(i%rows)*keyHeight)
	}
	f.Height = place(keyTop + float64(rows)*keyHeight + 8)
}
