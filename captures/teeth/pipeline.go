package teeth

import (
	"math"

	"armcurve/captures/teeth/numbering"
	"armcurve/captures/teeth/wheels"
)

// pipeline hands passages on to the gatherer, which takes about as long for them as
// it takes to find them, now more and now less, and works beside on a goroutine of
// its own.
//
// The wave is lent with them: what the window held when a batch was handed on
// stays as it is until that batch has come back. Which batches are back when is the
// same in each run: after each batch that one is waited for which went inFlight
// before it.
type pipeline struct {
	w     *window
	batch *batch // being filled
	needs int64  // position from which the gatherer has the wave kept
	full  chan *batch
	empty chan *batch

	free         []*batch
	handed, back int // batches so far
	lentTo       int // number of the last batch that the window is lent to
	spareTo      int // and of the last one that may read the window's spare memory
}

// inFlight is the number of batches that the gatherer may be behind.
const inFlight = 2

// batch is what the gatherer takes at once.
type batch struct {
	wheel    *wheels.Pattern // found before the passages; nil where it was not
	passages []numbering.Tooth
	w        window
	needs    int64 // as the pipeline's, after it
}

func newPipeline(w *window, needs int64) pipeline {
	k := pipeline{w: w, batch: new(batch), needs: needs, full: make(chan *batch, inFlight), empty: make(chan *batch, inFlight+1)}
	for range inFlight {
		k.free = append(k.free, new(batch))
	}
	return k
}

// follow tells the wheel of the passages to come.
func (k *pipeline) follow(p *wheels.Pattern) {
	k.hand()
	k.batch.wheel = p
}

// add takes the next passage.
func (k *pipeline) add(p numbering.Tooth) { k.batch.passages = append(k.batch.passages, p) }

// hand passes the batch on and lends the window.
func (k *pipeline) hand() {
	k.handed++
	if passages := k.batch.passages; len(passages) > 0 {
		k.lentTo = k.handed
		k.needs = min(k.needs, int64(passages[0].At)-8)
	}
	k.batch.w = *k.w
	k.batch.w.spareV, k.batch.w.spareSum = nil, nil
	k.full <- k.batch
	k.awaitTo(k.handed - inFlight)
	last := len(k.free) - 1
	k.batch, k.free = k.free[last], k.free[:last]
}

// awaitTo waits until a batch, by its number, is back.
func (k *pipeline) awaitTo(number int) {
	for k.back < number {
		b := <-k.empty
		k.back++
		k.free = append(k.free, b)
		if b.needs < math.MaxInt64 { // or what was handed on since holds
			k.needs = b.needs
		}
	}
	k.w.lent = k.back < k.lentTo
}

// settle waits until the window is not lent any more.
func (k *pipeline) settle() {
	k.hand()
	k.awaitTo(k.handed)
}

// freeSpare waits until no one reads the window's spare memory, which it is about
// to move to.
func (k *pipeline) freeSpare() {
	k.awaitTo(k.spareTo)
	k.spareTo = k.handed
}

// end hands on what is left and waits for the gatherer to be done.
func (k *pipeline) end() {
	k.hand()
	close(k.full)
	for range k.empty {
	}
}

// work takes batches until there are no more.
func (g *gatherer) work(k *pipeline) {
	defer close(k.empty)
	for b := range k.full {
		*g.w, b.w = b.w, window{} // or what the batch is not filled with anew for long would be held
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
