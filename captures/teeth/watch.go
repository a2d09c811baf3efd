package teeth

import "armcurve/captures"

// Watcher follows a wave while it is measured, on a goroutine of its own that
// ends before Measure does.
type Watcher interface {
	// Wave gives the next samples, volts with the arming side positive, the
	// first being at position first; the slice is only lent.
	Wave(first int64, v []float64)
	// Tooth gives the next tooth, once the wave up to beyond it was given.
	Tooth(Passage)
}

// Passage is a tooth as it passed.
type Passage struct {
	captures.Tooth
	Seen  bool    // false: the wheel has a tooth here and the wave shows none
	At    float64 // position of the fall, in samples from the first
	RestV float64 // rest level at the tooth
}

// show gives the watcher the wave up to beyond a tooth, then the tooth.
func (g *gatherer) show(p Passage) {
	g.showTo(beyond(p.At))
	g.watcher.Tooth(p)
}

// beyond is the position up to which a watcher has the wave when it is given a
// tooth.
func beyond(at float64) int64 { return int64(at) + 1 }

// showTo gives the watcher the wave up to a position.
func (g *gatherer) showTo(end int64) {
	end = min(end, g.w.samples, g.w.end())
	from := max(g.shown, g.w.first, 0)
	if end > from {
		g.watcher.Wave(from, g.w.v[from-g.w.first:end-g.w.first])
		g.shown = end
	}
}
