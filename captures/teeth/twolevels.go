package teeth

import (
	"fmt"
	"math"
)

// levels tell whether a wave has two levels alone, by its samples and without any of its
// teeth: a switch leaves none between, however slowly its edges come and whatever its
// gaps do to what follows teeth. A coil's voltage passes there all the time, and where an
// instrument cuts off the most of it, it still rests there in a gap.
type levels struct {
	pieces int
	next   int // of them that is looked at
	judged []levelPiece
}

// levelPiece is a stretch of the wave parted in two where its samples are nearest to the
// means of their parts (T. W. Ridler, S. Calvard, IEEE Trans. SMC 8, 1978, 630).
type levelPiece struct {
	n       int
	low     float64 // mean of the lower part
	high    float64
	lesser  int // samples in the part that has less
	between int // samples in the middle half between the means
	edges   int // from one part to the other, past that half
}

const (
	levelPieces = 64   // that are looked at; then ever fewer, so that their number hardly grows
	levelPart   = 0.02 // of a piece that the lesser part has to have

	levelEdges   = 10    // that show two levels
	levelAlike   = 1.15  // by which their distance differs from piece to piece
	levelBetween = 0.012 // of the samples at most: a gap of one in 36 has more at rest
	levelOfLess  = 0.1   // of the lesser part, as between
	levelSteps   = 6     // of the instrument: a wave of a few has few levels
)

// take looks at a piece of the wave.
func (l *levels) take(v []float64) {
	if l.pieces++; l.pieces < l.next || len(v) == 0 {
		return
	}
	l.next = l.pieces + 1 + l.pieces/levelPieces
	if p := partLevels(v); float64(p.lesser) > levelPart*float64(p.n) {
		p.count(v)
		l.judged = append(l.judged, p)
	}
}

// partLevels finds the two levels.
func partLevels(v []float64) levelPiece {
	const rounds = 6
	p := levelPiece{n: len(v)}
	border := 0.0
	for _, x := range v {
		border += x
	}
	border /= float64(p.n)
	for range rounds {
		above, low, high := 0, 0.0, 0.0
		for _, x := range v {
			if x > border {
				high += x
				above++
			} else {
				low += x
			}
		}
		p.lesser = min(above, p.n-above)
		if p.lesser == 0 {
			break
		}
		p.low, p.high = low/float64(p.n-above), high/float64(above)
		border = (p.low + p.high) / 2
	}
	return p
}

// count counts what lies between the levels, and the edges.
func (p *levelPiece) count(v []float64) {
	from, to := p.low+(p.high-p.low)/4, p.high-(p.high-p.low)/4
	isHigh := v[0] > (from+to)/2
	for _, x := range v {
		switch {
		case x > from && x < to:
			p.between++
		case isHigh != (x >= to):
			isHigh = !isHigh
			p.edges++
		}
	}
}

// areTwo tells that the wave has two levels alone, of an instrument with such steps, with
// the evidence.
func (l *levels) areTwo(step float64) (why string, are bool) {
	swing := 0.0
	for _, p := range l.judged {
		swing = max(swing, p.high-p.low)
	}
	var all levelPiece
	for _, p := range l.judged {
		switch d := p.high - p.low; {
		case d < swing/2:
			continue // the noise of one level
		case d < swing/levelAlike:
			return "", false
		}
		all.n, all.edges, all.lesser, all.between = all.n+p.n, all.edges+p.edges, all.lesser+p.lesser, all.between+p.between
		all.low, all.high = all.low+float64(p.n)*p.low, all.high+float64(p.n)*p.high
	}
	n := float64(all.n)
	isClear := float64(all.between) < min(levelBetween*n, levelOfLess*float64(all.lesser))
	if all.edges < levelEdges || !isClear || swing < levelSteps*step || math.IsInf(step, 0) {
		return "", false
	}
	return fmt.Sprintf("two levels, %.3g and %.3g V, and %.2g %% of the samples between", all.low/n, all.high/n, 100*float64(all.between)/n), true
}
