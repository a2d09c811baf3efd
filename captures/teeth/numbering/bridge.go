package numbering

import (
	"math"
	"slices"

	"armcurve/captures/teeth/pulses"
)

// bridge carries the wheel's place over holes in the wave. Its speed on either
// side and the time between tell how far it turned; where teeth are missing on the
// wheel, the gaps behind tell more exactly. The wave may be lost again before a gap
// has come: so all that is left of it is placed together, in the likeliest way.
type bridge struct {
	n       *Numberer
	pitches int
	pitch   float64 // length of one before the first hole, samples
	opens   bool    // nothing is known of what came before; see startBroken
	slotAt  []int   // slot of the tooth at a place of the wheel; −1 where none is
	rows    []row   // the first begins with the last tooth before
	spans   []span  // before each row but the first
	from    []int   // place of each row's first tooth, pitches on from the start of a turn
	margin  float64
}

const (
	tellingRow   = 4    // pitches that tell a speed
	surelyPlaced = 6.0  // cost by which any other place is worse
	oddTooth     = 10.0 // cost of a tooth where none should be, and of none where one should
	mostOdd      = 0.2  // share of such teeth, at most
	placeOff     = 0.2  // pitches by which a place foretold by speeds is off, and
	turnedOff    = 0.03 // part of what the wheel turned by, by which it is
	mostOff      = 6    // times that, at most
	hopeless     = 100  // cost by which a place is too bad to go on from
	speedsBeside = 1.5  // ratio of the speeds on either side of a hole, at most
	lostMostS    = 1    // for which a wave may be lost: in this time no engine stops and is cranked again
)

// newBridge divides what came since the last tooth into rows.
func newBridge(n *Numberer) *bridge {
	b := n.bridgeOf(1 / (n.speed * float64(n.Pattern.Wheel.Pitches)))
	b.divide(append([]pulses.Mark{n.last}, n.hole.marks...), n.slot)
	return b
}

// bridgeOf is a bridge over nothing yet.
func (n *Numberer) bridgeOf(pitch float64) *bridge {
	w := n.Pattern.Wheel
	b := &bridge{n: n, pitches: w.Pitches, pitch: pitch, slotAt: slices.Repeat([]int{-1}, w.Pitches)}
	for slot, place := range w.Positions {
		b.slotAt[place] = slot
	}
	return b
}

// divide makes rows of marks, of which the first has a slot.
func (b *bridge) divide(marks []pulses.Mark, slot int) {
	b.rows = rowsOf(b.n.Pattern, marks, slot, b.pitch)
	b.spans = make([]span, len(b.rows))
	for i := 1; i < len(b.rows); i++ {
		b.spans[i] = b.span(i)
	}
}

// span is a hole in the wave.
type span struct {
	length         float64 // samples
	before, behind float64 // speeds at its ends, pitches per sample
	turned         int     // by how much the wheel turned in it, pitches, as it was placed
}

// told is that by the speeds.
func (s *span) told() float64 { return s.length * (s.before + s.behind) / 2 }

// off compares what the wheel may have turned with what the speeds tell, by how
// well they do.
func (s *span) off(turned int) float64 {
	return math.Abs(float64(turned)-s.told()) / (placeOff + turnedOff*s.told())
}

// bend is how time runs in it as the wheel turns.
func (s *span) bend() bend {
	const most = 2.5 // where time still runs forward
	perPitch := s.length / float64(s.turned)
	return bend{min(1/(s.before*perPitch), most), min(1/(s.behind*perPitch), most)}
}

// span measures the hole before a row by the speeds on either side: over as much of
// the wheel's turning as was lost, up to a turn, on either side alike. So neither a
// steady gain of speed nor compressions count. Rows that are shorter do not tell:
// then those farther away do.
func (b *bridge) span(i int) span {
	begins, ends := b.rows[i-1].end(), b.rows[i].begin()
	reach := max(tellingRow, min((ends-begins)/b.pitch, float64(b.pitches)))
	before := i - 1
	for before > 0 && b.rows[before].pitches() < reach {
		before--
	}
	behind := b.longEnough(i, reach)
	reach = max(tellingRow, min(reach, b.rows[behind].pitches()))
	met, speed := b.speedAt(before, reach)
	gain := 0.0
	if b.rows[behind].pitches() >= tellingRow {
		then := b.rows[behind].speedAtBegin(reach)
		if speed == 0 {
			speed = then
		}
		gain = (then - speed) / (b.rows[behind].begin() - met)
	}
	return span{length: ends - begins, before: speed + gain*(begins-met), behind: speed + gain*(ends-met)}
}

// speedAt is where a row ends and the speed there; 0 where it is not told.
func (b *bridge) speedAt(row int, reach float64) (met, speed float64) {
	r := &b.rows[row]
	switch {
	case row == 0 && !b.opens:
		return b.n.last.At, b.n.speedOver(reach/float64(b.pitches)) * float64(b.pitches)
	case row == 0 && r.pitches() < tellingRow:
		return r.end(), 0
	}
	return r.end(), r.speedAtEnd(reach)
}

// longEnough is the first row from one on that is so long, pitches; or the longest.
func (b *bridge) longEnough(from int, reach float64) int {
	longest := from
	for i := from; i < len(b.rows); i++ {
		if b.rows[i].pitches() >= reach {
			return i
		}
		if b.rows[i].pitches() > b.rows[longest].pitches() {
			longest = i
		}
	}
	return longest
}

// place finds the likeliest places of all rows; false where none is likely.
func (b *bridge) place() bool {
	b.from = make([]int, len(b.rows))
	b.trace(b.costs())
	return b.isLikely()
}

// route is the least cost of a row at a place of the wheel, and where the row
// before it then is.
type route struct {
	cost  float64
	place int
}

// costs works out from row to row what placing it at each place of the wheel costs.
func (b *bridge) costs() [][]route {
	all := make([][]route, len(b.rows))
	for i := range b.rows {
		all[i] = make([]route, b.pitches)
		for place := range all[i] {
			all[i][place].cost = math.Inf(1)
		}
		if i == 0 {
			b.costsFirst(all[0])
			continue
		}
		least := math.Inf(1)
		for _, r := range all[i-1] {
			least = min(least, r.cost)
		}
		for place := range all[i] {
			r := &all[i][place]
			for before, then := range all[i-1] {
				if then.cost > least+hopeless {
					continue
				}
				off := b.spans[i].off(b.turned(i, before, place))
				if cost := then.cost + off*off/2; cost < r.cost {
					*r = route{cost, before}
				}
			}
			r.cost += oddTooth * float64(b.odd(i, place))
		}
	}
	return all
}

// costsFirst are those of the first row: it is where the last tooth before was, or
// wherever it fits.
func (b *bridge) costsFirst(row []route) {
	if !b.opens {
		row[b.n.Pattern.Wheel.Positions[b.n.slot]].cost = 0
		return
	}
	for _, place := range b.n.Pattern.Wheel.Positions {
		row[place].cost = oddTooth * float64(b.odd(0, place))
	}
}

// turned is by how many pitches the wheel turned over the hole before a row, if
// the row before is at one place and it at another.
func (b *bridge) turned(i, before, place int) int {
	end := before + int(b.rows[i-1].pitches())
	turned := ((place-end)%b.pitches + b.pitches) % b.pitches
	turned += b.pitches * int(max(0, math.Round((b.spans[i].told()-float64(turned))/float64(b.pitches))))
	if turned == 0 {
		return b.pitches
	}
	return turned
}

// odd counts the marks of a row that are where the wheel has no tooth, and the
// teeth between them that have none.
func (b *bridge) odd(i, place int) int {
	odd, before := 0, 0
	for k, at := range b.rows[i].places {
		tooth, is := b.tooth(place + at)
		switch {
		case !is:
			odd++
		case k > 0:
			odd += max(0, tooth-before-1)
		}
		before = tooth
	}
	return odd
}

// tooth counts the teeth up to a place, from the start of a turn; is tells that
// there is one just there.
func (b *bridge) tooth(place int) (count int, is bool) {
	turns, at := place/b.pitches, place%b.pitches
	is = b.slotAt[at] >= 0
	for b.slotAt[at] < 0 {
		at--
	}
	return turns*len(b.n.Pattern.Parts) + b.slotAt[at], is
}

// trace takes the places of the least cost.
func (b *bridge) trace(costs [][]route) {
	last := len(costs) - 1
	best, second := 0, math.Inf(1)
	for place, r := range costs[last] {
		if r.cost < costs[last][best].cost {
			best = place
		}
	}
	for place, r := range costs[last] {
		if place != best {
			second = min(second, r.cost)
		}
	}
	b.margin = second - costs[last][best].cost
	places := make([]int, len(costs))
	for i := last; i >= 0; i-- {
		places[i] = best
		best = costs[i][best].place
	}
	b.from[0] = places[0]
	for i := 1; i <= last; i++ {
		b.spans[i].turned = b.turned(i, places[i-1], places[i])
		b.from[i] = b.from[i-1] + int(b.rows[i-1].pitches()) + b.spans[i].turned
	}
}

// isLikely tells that the rows are where the speeds foretell, and those alike.
func (b *bridge) isLikely() bool {
	odd, marks := 0, 0
	for i := 1; i < len(b.rows); i++ {
		s := &b.spans[i]
		if s.length*b.n.StepS > lostMostS || !within(s.before, s.behind, speedsBeside) || s.off(s.turned) > mostOff {
			return false
		}
		odd += b.odd(i, b.from[i]%b.pitches)
		marks += len(b.rows[i].marks)
	}
	return float64(odd) <= mostOdd*float64(marks)+1
}

// isWrong tells that the count before was: the last row, a whole turn long, has teeth where
// none should be, or none where some should, and would have neither at another place.
func (b *bridge) isWrong() bool {
	last := len(b.rows) - 1
	if b.rows[last].pitches() < float64(b.pitches) || b.odd(last, b.from[last]%b.pitches) == 0 {
		return false
	}
	for place := range b.pitches {
		if b.odd(last, place) == 0 {
			return true
		}
	}
	return false
}

// tells tells that the last row shows surely where it is, and the speed behind the
// longest hole; where it does not quite fit, only a whole turn does.
func (b *bridge) tells() bool {
	longest, last := float64(tellingRow), len(b.rows)-1
	for i := range b.spans {
		longest = max(longest, b.spans[i].told())
	}
	if b.odd(last, b.from[last]%b.pitches) > 0 {
		longest = float64(b.pitches)
	}
	return b.rows[last].pitches() >= min(longest, float64(b.pitches)) && (b.margin > surelyPlaced || len(b.n.Pattern.Parts) == b.pitches)
}

// bend is time over angle in a stretch, both from 0 to 1, as the slopes at its
// ends: a cubic.
type bend struct{ first, last float64 }

var unbent = bend{1, 1}

func (c bend) at(x float64) float64 {
	return x * (c.first + x*(3-2*c.first-c.last+x*(c.first+c.last-2)))
}
