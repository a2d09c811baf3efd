package teeth

import (
	"math"
	"slices"

	"armcurve/captures"
)

// In a pull the speed may grow by half within the first turns: their means leave out
// the lowest speeds that were seen. The teeth there give readings of their own, of as
// many as pass at about the same speed.
const (
	stretchWidth  = 2 * binWidth
	widestStretch = 0.35 // where that is needed to quieten noise: still the curve bends by half a percent
	stretchError  = 0.03 // of the peak, that noise or steps may make: what readings scatter by anyway
	leastLearnt   = 3    // turns that tell how high each tooth is
	leastReadings = 2    // by speed, of a pull
)

// ends are the teeth from the first seen to the end of the first whole turn, and
// from the beginning of the last one to the last seen.
type ends struct {
	lead, last []toothAt
	begun      bool // the first turn was seen
}

// closeTurn keeps a whole turn, and gives back memory for the next.
func (e *ends) closeTurn(turn []toothAt) []toothAt {
	if !e.begun {
		e.lead, e.begun = append(e.lead, turn...), true
	}
	e.last, turn = turn, e.last
	return turn[:0]
}

// breakOff begins anew where teeth are missing.
func (e *ends) breakOff() {
	e.last = e.last[:0]
	if !e.begun {
		e.lead = e.lead[:0]
	}
}

// readings are those of the ends' teeth at speeds beyond all bins.
func (e *ends) readings(g *gatherer, all []*bin, sensor string) (list []captures.Reading) {
	if len(all) < leastReadings {
		return nil
	}
	low, high := all[0], all[len(all)-1]
	lead, tail := e.lead, slices.Concat(e.last, g.turn)
	// Of the first and the last tooth the wave may lack a part, and how fast they passed
	// is only known of one side.
	lead, tail = lead[min(1, len(lead)):], tail[:max(0, len(tail)-1)]
	doubt := peakDoubt{varianceV: peakVariance(all), stepV: g.w.step}
	for _, end := range [][]toothAt{lead, tail} {
		for from := 0; from < len(end); {
			s, to := g.stretchFrom(end, from, doubt)
			from = to
			switch {
			case !s.tells(doubt):
			case s.rpm() < low.low*(1-binWidth) && low.isSteady():
				list = append(list, s.reading(g, low, sensor))
			case s.rpm() > high.high*(1+binWidth) && high.isSteady():
				list = append(list, s.reading(g, high, sensor))
			}
		}
	}
	return list
}

// isSteady tells that a tooth's speed there is that of the turn.
func (b *bin) isSteady() bool { return !b.ripples() }

// stretched is the sum over teeth that passed one after the other at about the same
// speed.
type stretched struct {
	firstS       float64
	teeth        float64
	speed, peakV float64
	turnRPM      float64
}

func (s *stretched) rpm() float64 { return s.speed / s.teeth * s.turnRPM }

// peakDoubt is what may be wrong with single peaks: their variance, which a mean
// quietens, and the instrument's step, which it need not.
type peakDoubt struct{ varianceV, stepV float64 }

// tells that the mean peak is known well enough.
func (s *stretched) tells(doubt peakDoubt) bool {
	return s.teeth > 0 && doubt.varianceV*s.teeth <= math.Pow(stretchError*s.peakV, 2) &&
		doubt.stepV/2*s.teeth <= stretchError*s.peakV
}

// peakVariance is that of a single peak about its mean over the turns, volts squared.
func peakVariance(all []*bin) float64 {
	sum, n := 0.0, 0
	for _, b := range all {
		sum += b.variance * math.Pow(b.peakV/float64(b.teeth), 2)
		n += b.variances
	}
	return sum / float64(n)
}

// stretchFrom sums up teeth from one on, and tells where the next stretch begins.
// Each peak is taken as that of a mean tooth, and each speed as the wheel's, as the turns
// tell the height of the tooth and the speed that is seen at it.
func (g *gatherer) stretchFrom(teeth []toothAt, from int, doubt peakDoubt) (s stretched, to int) {
	s = stretched{firstS: g.timeS(teeth[from].at), turnRPM: g.turnRPM}
	first := g.speedAt(&teeth[from])
	if math.IsNaN(first) {
		return s, from + 1
	}
	for to = from; to < len(teeth); to++ {
		t := &teeth[to]
		speed := g.speedAt(t)
		width := math.Abs(math.Log(speed / first))
		if width > widestStretch || width > stretchWidth && s.tells(doubt) {
			break
		}
		gain, pace := &g.gains[t.slot], &g.paces[t.slot]
		if t.marred || t.clipped || gain.n < leastLearnt || pace.n < leastLearnt || g.pattern.AfterGap(t.slot) && len(g.gains) > 1 || math.IsNaN(t.peakV+speed) {
			continue
		}
		s.teeth++
		s.speed += speed
		s.peakV += t.peakV / (gain.mean * pace.mean)
	}
	return s, max(to, from+1)
}

// speedAt is the wheel's speed at a tooth's peak, as far as turns tell how what is seen
// of it there differs.
func (g *gatherer) speedAt(t *toothAt) float64 {
	if pace := &g.paces[t.slot]; pace.n >= leastLearnt {
		return t.atPeak / pace.mean
	}
	return t.atPeak
}

// reading is one of a stretch's teeth; of a weakest one it knows what the turns at
// the next speed do.
func (s *stretched) reading(g *gatherer, beside *bin, sensor string) captures.Reading {
	peakV := s.peakV / s.teeth
	levels := meanLevels([]*bin{beside})
	return captures.Reading{
		Pos:           captures.Pos{File: g.info.File, AtS: captures.Some(s.firstS)},
		Sensor:        sensor,
		RPM:           s.rpm(),
		PeakV:         captures.Finite(peakV),
		WeakestV:      captures.Finite(peakV * min(1, slices.Min(levels))),
		TeethMeasured: captures.Some(s.teeth),
	}
}
