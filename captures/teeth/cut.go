package teeth

import (
	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/tops"
)

// A clamp, as there is one at most inputs (common practice), holds the wave at another
// height above rest than below: it lets the rest level of what is left no longer be its
// mean. Noise comes on top, so it is told by its shape.
const (
	cutTeeth     = 4    // in a row that show it: a short one has unlike lobes, and so have those beside
	alikeHeights = 0.85 // of the lesser height and the larger one, of lobes that are not cut unlike
	lobePlaces   = 64   // of a lobe that are looked at
	wavePlaces   = 4093 // and of many teeth
)

// followCut tells that a clamp cuts the teeth of late off unlike on the two sides.
func (s *surveyor) followCut(w *window, m *pulses.Mark) bool {
	if w.cutUnlike(m.At, m.Width, s.cut >= cutTeeth) {
		s.cut = min(s.cut+1, cutTeeth)
	} else {
		s.cut = 0
	}
	return s.cut == cutTeeth
}

// cutUnlike tells that of the two lobes of a tooth one is cut off, and lower for it than
// the other is; where those of the last teeth were, that they are still unlike.
func (w *window) cutUnlike(at, width float64, wasCut bool) bool {
	const lobe, before = 1.2, 0.5 // widths: of one, and of its middle from the fall
	up, down := w.near(at-before*width)-w.rest, w.rest-w.near(at+before*width)
	if min(up, down) > alikeHeights*max(up, down) {
		return false
	}
	return wasCut || standUnlike(w.between(at-lobe*width, at), w.between(at, at+lobe*width), w.rest, lobePlaces)
}

// near is the sample next to a position; the rest level where there is none.
func (w *window) near(at float64) float64 {
	if v := w.between(at, at+1); len(v) > 0 {
		return v[0]
	}
	return w.rest
}

// standUnlike tells that one of two waves stands flat, above rest or below it, and at
// another height than the other; of each, so many places are looked at.
func standUnlike(above, below []float64, restV float64, places int) bool {
	up, isFlatUp := tops.Of(above, restV, 1, places)
	down, isFlatDown := tops.Of(below, restV, -1, places)
	return (isFlatUp || isFlatDown) && min(up, down) < alikeHeights*max(up, down)
}
