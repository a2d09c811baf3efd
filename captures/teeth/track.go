package teeth

import (
	"math"

	"armcurve/captures"
)

// Track is how the teeth of a capture passed, in TrackBytes each: with it the
// capture can be played again without being measured again. What was measured of a
// tooth, its position apart, is kept in the precision of 32 bits.
type Track struct{ chunks [][]step }

// TrackBytes is what a tooth takes in a Track.
const TrackBytes = 24

// step is a Passage without what follows from its position.
type step struct {
	at                float64
	peakV, rpm, restV float32
	number            int16
	seen              bool
}

// chunkLen is the number of steps that memory is taken for at once: what grows is
// not moved.
const chunkLen = 4096

func (t *Track) add(p Passage) {
	last := len(t.chunks) - 1
	if last < 0 || len(t.chunks[last]) == chunkLen {
		t.chunks = append(t.chunks, make([]step, 0, chunkLen))
		last++
	}
	t.chunks[last] = append(t.chunks[last], step{
		at: p.At, peakV: float32(p.PeakV), rpm: float32(p.RPM), restV: float32(p.RestV),
		number: int16(p.Number), seen: p.Seen,
	})
}

func (s *step) passage(info captures.WaveInfo) Passage {
	tooth := captures.Tooth{TimeS: timeAt(info, s.at), Number: int(s.number), PeakV: float64(s.peakV), RPM: float64(s.rpm)}
	return Passage{Tooth: tooth, Seen: s.seen, At: s.at, RestV: float64(s.restV)}
}

// Falls are the positions at which the teeth seen fell through the rest level, in
// samples from the first.
func (t *Track) Falls() []float64 {
	var all []float64
	for _, chunk := range t.chunks {
		for i := range chunk {
			if chunk[i].seen {
				all = append(all, chunk[i].at)
			}
		}
	}
	return all
}

// Play gives a watcher what it would have been given while the track was kept: the
// source is the same capture from its beginning. Of the options it is the channel,
// the side and Watch, which must be there, that count. An error is one of the source.
func (t *Track) Play(source captures.Source, o Options) error {
	p := player{w: newWindow(), info: source.Info(), watcher: o.Watch, left: t.chunks}
	sign := 1.0
	if o.Negative {
		sign = -1
	}
	err := eachBlock(source, func(b *captures.Block) {
		p.w.add(b.V[o.Channel], sign)
		p.play(p.w.end())
		p.w.v, p.w.first = p.w.v[:0], p.w.end()
	})
	if err == nil {
		p.play(math.MaxInt64)
	}
	return err
}

// player is a track being played.
type player struct {
	w       *window // the latest block
	info    captures.WaveInfo
	watcher Watcher
	shown   int64 // position up to which the watcher has the wave
	left    [][]step
	next    int // of the first chunk that is left
}

// play gives the wave, and each tooth as soon as that is there up to beyond it, to
// a position: that where the block ends, or beyond all where the capture does.
func (p *player) play(end int64) {
	for len(p.left) > 0 {
		s := &p.left[0][p.next]
		if beyond(s.at) > end {
			break
		}
		p.showTo(beyond(s.at))
		p.watcher.Tooth(s.passage(p.info))
		if p.next++; p.next == len(p.left[0]) {
			p.left, p.next = p.left[1:], 0
		}
	}
	p.showTo(end)
}

func (p *player) showTo(end int64) {
	if end = min(end, p.w.end()); end > p.shown {
		p.watcher.Wave(p.shown, p.w.v[p.shown-p.w.first:end-p.w.first])
		p.shown = end
	}
}
