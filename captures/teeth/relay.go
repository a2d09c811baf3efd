package teeth

// relay hands passages on to the gatherer, which takes about as long for them as
// it takes to find them, and works beside on a goroutine of its own.
//
// The wave is lent with them: what the window held when a batch was handed on
// stays as it is until that batch has come back. There are two of them, so when
// one was handed on the one before is back.
type relay struct {
	w     *window
	batch *batch // being filled
	needs int64  // position from which the gatherer has the wave kept
	full  chan *batch
	empty chan *batch
}

// batch is what the gatherer takes at once.
type batch struct {
	wheel    *pattern // found before the passages; nil where it was not
	passages []passage
	w        window
	needs    int64 // as the relay's, after it
}

func newRelay(w *window, needs int64) relay {
	k := relay{w: w, batch: new(batch), needs: needs, full: make(chan *batch, 1), empty: make(chan *batch, 2)}
	k.empty <- &batch{needs: needs}
	return k
}

// follow tells the wheel of the passages to come.
func (k *relay) follow(p *pattern) {
	k.hand()
	k.batch.wheel = p
}

// add takes the next passage.
func (k *relay) add(p passage) { k.batch.passages = append(k.batch.passages, p) }

// hand passes the batch on and lends the window.
func (k *relay) hand() {
	passages := k.batch.passages
	k.batch.w, k.w.lent = *k.w, len(passages) > 0
	k.full <- k.batch
	k.batch = <-k.empty
	k.needs = k.batch.needs
	if len(passages) > 0 {
		k.needs = min(k.needs, int64(passages[0].at)-8)
	}
}

// settle waits until the window is not lent any more.
func (k *relay) settle() {
	k.hand()
	k.empty <- <-k.empty
	k.w.lent = false
}

// end hands on what is left and waits for the gatherer to be done.
func (k *relay) end() {
	k.hand()
	close(k.full)
	for range k.empty {
	}
}

// work takes batches until there are no more.
func (g *gatherer) work(k *relay) {
	defer close(k.empty)
	for b := range k.full {
		g.w = &b.w
		if b.wheel != nil {
			g.follow(b.wheel)
		}
		for _, p := range b.passages {
			g.add(p)
		}
		b.wheel, b.passages, b.needs = nil, b.passages[:0], g.needs()
		k.empty <- b
	}
	g.end()
}
