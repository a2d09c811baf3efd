package teeth

// show gives the watcher the wave up to beyond a tooth, then the tooth.
func (g *gatherer) show(p Passage) {
	g.showTo(int64(p.At) + 1)
	g.watcher.Tooth(p)
}

// showTo gives the watcher the wave up to a position.
func (g *gatherer) showTo(end int64) {
	end = min(end, g.w.samples, g.w.end())
	from := max(g.shown, g.w.first, 0)
	if end > from {
		g.watcher.Wave(from, g.w.v[from-g.w.first:end-g.w.first])
		g.shown = end
	}
}
