package report

import (
	"fmt"
	"html/template"
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
	if at+float64(letterWidth*len(text))/2 > figureWidth-2 {
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
