package noise

import (
	"math"

	"armcurve/captures/teeth/median"
)

// Series holds what one method left of the wave, sample after sample, and
// where on the wave and on the wheel it came from: so that what the method leaves of a
// tone can be told, and taken out.
type Series struct {
	left   []float32
	pieces []piece
	placed int // pieces that have their speed
}

// piece is a part of a pitch in a series.
type piece struct {
	at         *AtSpeed // its noise is this one's
	part       int      // of the pitch
	first, end int      // of the series's samples
	terms      [1 + mostOthers]term
}

// term is one of the stretches whose weighted sum a piece is.
type term struct {
	weight float64
	at     [domains]ramp
}

// ramp is the place of a stretch's samples in one domain: of the first, and by how
// much the next ones are further.
type ramp struct{ from, step float64 }

// A tone is steady in one of two domains.
const (
	overTime  = iota // in samples
	overAngle        // in turns of the wheel
	domains
)

// reserve makes room for samples at once: a series that grows leaves several times its
// length behind as garbage.
func (t *Series) reserve(samples int) { t.left = make([]float32, 0, samples) }

// begin opens a piece at the end.
func (t *Series) begin(part int) *piece {
	n := len(t.left)
	t.pieces = append(t.pieces, piece{part: part, first: n, end: n})
	return &t.pieces[len(t.pieces)-1]
}

// add takes samples into the last piece.
func (t *Series) add(left []float64) {
	for _, v := range left {
		t.left = append(t.left, float32(v))
	}
	t.pieces[len(t.pieces)-1].end = len(t.left)
}

// place gives the pieces up to a position to a speed.
func (t *Series) place(at *AtSpeed, upTo float64) {
	for t.placed < len(t.pieces) && t.pieces[t.placed].own().at[overTime].from < upTo {
		t.pieces[t.placed].at = at
		t.placed++
	}
}

// discard forgets the pieces that have no speed yet.
func (t *Series) discard() {
	t.pieces = t.pieces[:t.placed]
	t.left = t.left[:t.samples()]
}

func (t *Series) reset() { t.left, t.pieces, t.placed = t.left[:0], t.pieces[:0], 0 }

// samples is the number of those that have a speed.
func (t *Series) samples() int {
	if t.placed == 0 {
		return 0
	}
	return t.pieces[t.placed-1].end
}

// length is how far the series goes in a domain.
func (t *Series) length(domain int) float64 {
	if t.placed == 0 {
		return 0
	}
	last := &t.pieces[t.placed-1]
	end := last.own().at[domain]
	return end.from + float64(last.end-last.first)*end.step - t.origin(domain)
}

// origin is where the series begins in a domain.
func (t *Series) origin(domain int) float64 { return t.pieces[0].own().at[domain].from }

// meanStep is how far samples are apart in a domain.
func (t *Series) meanStep(domain int) float64 {
	sum := 0.0
	for i := range t.pieces[:t.placed] {
		p := &t.pieces[i]
		sum += p.own().at[domain].step * float64(p.end-p.first)
	}
	return sum / float64(t.samples())
}

// scale is about the standard deviation of what is on the series, tones and all.
func (t *Series) scale() float64 {
	const some = 1024
	sizes := make([]float64, 0, some+1)
	for i := 0; i < t.samples(); i += 1 + t.samples()/some {
		sizes = append(sizes, math.Abs(float64(t.left[i])))
	}
	return median.Of(sizes) / 0.6745
}

func (p *piece) own() *term { return &p.terms[0] }

// play adds a series without its tones to the noise at its speeds.
func (t *Series) play(method int, toneV float64) {
	var left []float64
	for i := range t.pieces[:t.placed] {
		p := &t.pieces[i]
		n := p.end - p.first
		p.at.toned += float64(n)
		p.at.toneV += float64(n) * toneV
		sum := &p.at.toneless.In(method)[p.part]
		sum.Begin()
		left = left[:0]
		for _, v := range t.left[p.first:p.end] {
			left = append(left, float64(v))
		}
		sum.Add(left)
	}
}
