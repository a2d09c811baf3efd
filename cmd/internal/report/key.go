package report

import (
	"fmt"
	"html/template"
	"strconv"
	"strings"
)

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
