package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

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
