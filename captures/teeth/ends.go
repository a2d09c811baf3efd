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
	leastLearnt   = 24   // turns that tell how high each tooth is: in few the speed's gain within each would show
	learntError   = 0.01 // of its height, that noise may make in that
	leastPaced    = 3    // of those, in the shortest of captures
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
	lead, tail := e.lead, slices.Concat(e.last, g.turn)
	// Of the first and the last tooth the wave may lack a part, and how fast they passed
	// is only known of one side.
	lead, tail = lead[min(1, len(lead)):], tail[:max(0, len(tail)-1)]
	doubt := peakDoubt{varianceV: peakVariance(all), stepV: g.w.step}
	for _, b := range borders(all) {
		for _, end := range [][]toothAt{lead, tail} {
			for from := 0; from < len(end); {
				s, to := g.stretchFrom(end, from, &b.means, doubt)
				from = to
				if s.tells(doubt) && b.isPassed(s.rpm()) {
					list = append(list, s.reading(g, b.last, sensor))
				}
			}
		}
	}
	return list
}

// border is the slowest or the fastest of all bins.
type border struct {
	last  *bin
	means slotMeans
	low   bool
}

// borders are those at which a tooth's speed is that of the turn, and whose turns are
// enough to tell how each tooth differs.
func borders(all []*bin) (list []border) {
	low, high := all[0], all[len(all)-1]
	if near := turnsFrom(all); low.isSteady() && near.paced >= leastPaced {
		list = append(list, border{last: low, means: near.slotMeans(), low: true})
	}
	slices.Reverse(all)
	if near := turnsFrom(all); high.isSteady() && near.paced >= leastPaced {
		list = append(list, border{last: high, means: near.slotMeans()})
	}
	slices.Reverse(all)
	return list
}

// isPassed tells that a speed lies beyond.
func (b *border) isPassed(rpm float64) bool {
	if b.low {
		return rpm < b.last.low*(1-binWidth)
	}
	return rpm > b.last.high*(1+binWidth)
}

// turnsFrom puts together as many turns from the first bin on as tell how each tooth
// differs.
func turnsFrom(all []*bin) *bin {
	near := newBin(0, len(all[0].level))
	for _, b := range all {
		if near.paced >= leastLearnt && near.meanVariance() <= learntError*learntError*float64(near.turns) {
			break
		}
		near.merge(b)
	}
	return near
}

// slotMeans are how each tooth of the wheel differs at speeds near by: its height for the
// speed seen at it, over the mean, and that speed over the wheel's.
type slotMeans struct{ levels, paces []float64 }

func (b *bin) slotMeans() slotMeans {
	m := slotMeans{levels: slices.Clone(b.level), paces: slices.Clone(b.seenPace)}
	for j := range m.levels {
		m.levels[j] /= float64(b.turns)
		m.paces[j] /= float64(b.paced)
	}
	return m
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
// Each peak is taken as that of a mean tooth, and each speed as the wheel's, as turns at
// speeds near by tell the height of the tooth and the speed that is seen at it. Behind a
// coil a tooth differs otherwise at other speeds, one beside a gap most of all.
func (g *gatherer) stretchFrom(teeth []toothAt, from int, means *slotMeans, doubt peakDoubt) (s stretched, to int) {
	s = stretched{firstS: g.timeS(teeth[from].at), turnRPM: g.turnRPM}
	first := means.speedAt(&teeth[from])
	if math.IsNaN(first) {
		return s, from + 1
	}
	for to = from; to < len(teeth); to++ {
		t := &teeth[to]
		speed := means.speedAt(t)
		width := math.Abs(math.Log(speed / first))
		if width > widestStretch || width > stretchWidth && s.tells(doubt) {
			break
		}
		if t.marred || t.clipped || g.pattern.AfterGap(t.slot) && len(means.levels) > 1 || math.IsNaN(t.peakV+speed) {
			continue
		}
		s.teeth++
		s.speed += speed
		s.peakV += t.peakV / (means.levels[t.slot] * means.paces[t.slot])
	}
	return s, max(to, from+1)
}

// speedAt is the wheel's speed at a tooth's peak.
func (m *slotMeans) speedAt(t *toothAt) float64 { return t.atPeak / m.paces[t.slot] }

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
