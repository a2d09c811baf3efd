package replay

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mathext"
)

// surges tell where in the gaps the wave rises farthest above what it has there turn
// by turn, passed the threshold or not: by the tooth before the gap. Noise without a
// place does so anywhere in a gap, though it passes the threshold only where the
// wheel's own wave leaves it least to rise; a spark does so at its angle.
type surges map[uint16]*gapSurges

// gapSurges counts the highest surge of each passage of a gap.
type gapSurges struct {
	at       [surgeCells][surgeLevels]uint32 // by its place in the gap and its height
	from, to int                             // the cells between the teeth's own arches
}

const (
	surgeCells      = 48 // in a gap
	surgeLevels     = 96
	surgesPerOctave = 4
	lowestSurge     = -12 * surgesPerOctave // 0.24 mV

	afterTooth  = 0.3 // pitches behind a tooth's fall, where the gap begins
	beforeTooth = 0.4 // and before the next one's, where it ends

	surgeHalfDeg  = 1.5 // crank degrees to either side that are one place
	surgeContrast = 2   // times as many as noise would have there
	surgeChance   = 1e-3
)

// pass takes the gap between two teeth that have passed.
func (s surges) pass(p *past, before, after *passed) {
	if !before.seen || !after.seen || !(after.pitch > 0) || after.at-before.at < 1.5*after.pitch {
		return
	}
	from, to := before.at+afterTooth*after.pitch, after.at-beforeTooth*after.pitch
	part, surgeV, ok := p.surge(from, to)
	if !ok {
		return
	}
	g := s[uint16(before.number)]
	if g == nil {
		g = new(gapSurges)
		s[uint16(before.number)] = g
	}
	length := after.at - before.at
	g.from, g.to = int((from-before.at)/length*surgeCells), int((to-before.at)/length*surgeCells)
	g.at[cellOf(part)][surgeLevel(surgeV)]++
}

func cellOf(part float64) int { return min(max(int(part*surgeCells), 0), surgeCells-1) }

func surgeLevel(v float64) int {
	if !(v > 0) {
		return 0
	}
	return min(max(octaveStep(v, surgesPerOctave)-lowestSurge, 0), surgeLevels-1)
}

// surge is where between two positions, which are between the same two teeth, the
// wave rises farthest above what it has there turn by turn, as a part of the way from
// tooth to tooth, and by how much.
func (p *past) surge(from, to float64) (part, surgeV float64, ok bool) {
	tooth, _, ok := p.place(from)
	if !ok {
		return 0, 0, false
	}
	before := p.turnsBefore(tooth)
	if before.n < 2 {
		return 0, 0, false
	}
	surgeV = math.Inf(-1)
	at, length := p.teeth[tooth].at, p.teeth[tooth+1].at-p.teeth[tooth].at
	for x := math.Ceil(from); x <= to; x++ {
		now, ok := p.at(x)
		if then := before.wave(p, (x-at)/length); ok && now-then > surgeV {
			part, surgeV = (x-at)/length, now-then
		}
	}
	return part, surgeV, surgeV > 0
}

// gapPlaces judges the surges about places of the gaps.
type gapPlaces struct {
	surges
	halfCells map[uint16]int // that are one place
	ownV      map[place][]float64
	known     map[place]bool
}

// place is one in a gap.
type place struct {
	tooth uint16 // before the gap
	cell  int
}

// gather lists how far the false events in gaps rise above the wave of other turns.
func (q *inquiry) gather() *gapPlaces {
	g := &gapPlaces{surges: q.surges, halfCells: map[uint16]int{}, ownV: map[place][]float64{}, known: map[place]bool{}}
	for tooth := range q.surges {
		fromDeg, toDeg := q.crankDeg(int(tooth), 0), q.crankDeg(int(tooth), 1)
		if fromDeg.Known && toDeg.Known {
			g.halfCells[tooth] = max(1, int(math.Round(surgeHalfDeg/(toDeg.Value-fromDeg.Value)*surgeCells)))
		}
	}
	for i := range q.faults {
		if f := &q.faults[i]; f.isSurge() {
			at := place{f.tooth, cellOf(float64(f.peakPart))}
			g.ownV[at] = append(g.ownV[at], float64(f.heightV-f.partV))
		}
	}
	return g
}

// isSurge tells that a false event in a gap would not be without what rises there in
// this turn only.
func (f *fault) isSurge() bool { return f.isWithinGap() && f.partV <= f.thresholdV }

// isWithinGap tells that a false event is one of the wave in a gap, and no other
// fault's doing.
func (f *fault) isWithinGap() bool {
	return f.is(isFalse) && f.is(inGap) && !f.is(standing|split|follows)
}

// has tells that a false event is at a place where surges gather.
func (g *gapPlaces) has(f *fault) bool {
	if !f.isWithinGap() {
		return false
	}
	at := place{f.tooth, cellOf(float64(f.peakPart))}
	is, known := g.known[at]
	if !known {
		is = g.judge(at)
		g.known[at] = is
	}
	return is
}

// judge tells that surges as high as those of the false events about a place are far
// more there than noise would have as many of in all of the gap.
func (g *gapPlaces) judge(at place) bool {
	gap, half := g.surges[at.tooth], g.halfCells[at.tooth]
	if gap == nil || half == 0 {
		return false
	}
	var ownV []float64
	for c := at.cell - half; c <= at.cell+half; c++ {
		ownV = append(ownV, g.ownV[place{at.tooth, c}]...)
	}
	if len(ownV) == 0 {
		return false
	}
	sort.Float64s(ownV)
	least := surgeLevel(ownV[len(ownV)/4])
	here, all := gap.count(at.cell-half, at.cell+half, least), gap.count(0, surgeCells-1, least)
	share := float64(2*half+1) / float64(gap.to-gap.from+1)
	if here < foldFewest || share >= 1 || float64(here) < surgeContrast*share*float64(all) {
		return false
	}
	// of as many or more there by chance
	return mathext.RegIncBeta(float64(here), float64(all-here+1), share) < surgeChance
}

// count is the number of surges in some cells from a level on.
func (g *gapSurges) count(fromCell, toCell, fromLevel int) int {
	n := 0
	for c := max(fromCell, 0); c <= min(toCell, surgeCells-1); c++ {
		for _, k := range g.at[c][fromLevel:] {
			n += int(k)
		}
	}
	return n
}
