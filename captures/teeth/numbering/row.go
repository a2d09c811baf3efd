package numbering

import (
	"math"
	"slices"

	"armcurve/captures/teeth/pulses"
	"armcurve/captures/teeth/wheels"
)

// row is a stretch of teeth in which the wave was not lost.
type row struct {
	marks  []pulses.Mark
	places []int // pitches from the first
}

const (
	nearRow   = 3    // pitches that are near
	unitReach = 3    // intervals on either side that tell a pitch's length
	edgeOff   = 0.25 // pitches by which the rest of a tooth is off its place
)

// rows divides marks: where an interval is neither a pitch nor as long as one of
// the wheel's gaps, the wave was lost; and where there is no such gap behind the
// first marks, of which the slot of the first is given, −1 where it is not known,
// and the length of a pitch, samples.
func rowsOf(p *wheels.Pattern, marks []pulses.Mark, slot int, pitch float64) []row {
	lengths := make([]float64, len(marks)-1)
	for i := range lengths {
		lengths[i] = marks[i+1].At - marks[i].At
	}
	rows := []row{{marks[:1:1], []int{0}}}
	for i, m := range marks[1:] {
		unit := pitch
		if i > 0 {
			unit = usualPitch(lengths, i)
		}
		r := &rows[len(rows)-1]
		pitches := int(min(math.Round(lengths[i]/unit), math.MaxInt32))
		if m.IsNew || pitches > 1 && !p.HasGap(pitches) || slot >= 0 && len(rows) == 1 && !p.IsNext(slot+len(r.marks)-1, pitches) {
			rows = append(rows, row{[]pulses.Mark{m}, []int{0}})
			continue
		}
		r.marks, r.places = append(r.marks, m), append(r.places, r.places[len(r.places)-1]+pitches)
	}
	rows = withoutScraps(rows)
	for i := range rows {
		if i+1 < len(rows) {
			rows[i].trimEnd(pitch)
		}
		if i > 0 {
			rows[i].trimBegin()
		}
	}
	return rows
}

// usualPitch is the length of a pitch about an interval: that of the shorter ones,
// as nearly all else makes them longer.
func usualPitch(lengths []float64, i int) float64 {
	near := slices.Sorted(slices.Values(lengths[max(0, i-unitReach):min(len(lengths), i+unitReach+1)]))
	return near[(len(near)-1)/3]
}

// withoutScraps leaves out single marks beside a row that are off its places: they
// are the rest of a tooth.
func withoutScraps(rows []row) []row {
	kept := rows[:1]
	for i, r := range rows[1:] {
		if i+2 < len(rows) && len(r.marks) == 1 && (rows[i].isScrap(r.begin()-rows[i].end()) || rows[i+2].isScrap(rows[i+2].begin()-r.end())) {
			continue
		}
		kept = append(kept, r)
	}
	return kept
}

// isScrap tells that what is so far from a row is near it and off its places.
func (r *row) isScrap(length float64) bool {
	last := len(r.marks) - 1
	if last < 1 {
		return false
	}
	pitches := length / r.pitch(0, last)
	return pitches < nearRow && math.Abs(pitches-math.Round(pitches)) > edgeOff
}

// trimEnd takes off the last mark, if it is not in its place: where the wave is cut
// off amid a tooth, it falls at the cut. A pitch of a length tells where the row
// is too short to do so itself.
func (r *row) trimEnd(pitch float64) {
	last := len(r.marks) - 1
	if last < 1 {
		return
	}
	if last > 1 {
		pitch = r.pitch(max(0, last-1-tellingRow), last-1)
	}
	if r.isOff(last, pitch) {
		r.marks, r.places = r.marks[:last], r.places[:last]
	}
}

// trimBegin does so with the first.
func (r *row) trimBegin() {
	last := len(r.marks) - 1
	if last < 2 || !r.isOff(1, r.pitch(1, min(last, 1+tellingRow))) {
		return
	}
	r.marks, r.places = r.marks[1:], r.places[1:]
	first := r.places[0]
	for k := range r.places {
		r.places[k] -= first
	}
}

// isOff tells that the interval before a mark is not a whole number of pitches.
func (r *row) isOff(k int, pitch float64) bool {
	pitches := float64(r.places[k] - r.places[k-1])
	return math.Abs((r.marks[k].At-r.marks[k-1].At)/pitch-pitches) > edgeOff
}

func (r *row) begin() float64   { return r.marks[0].At }
func (r *row) end() float64     { return r.marks[len(r.marks)-1].At }
func (r *row) pitches() float64 { return float64(r.places[len(r.places)-1]) }

// pitch is the mean time of a pitch between two marks, samples.
func (r *row) pitch(from, to int) float64 {
	return (r.marks[to].At - r.marks[from].At) / float64(max(1, r.places[to]-r.places[from]))
}

// speedAtBegin is the speed over at least so many of the first pitches, pitches per
// sample.
func (r *row) speedAtBegin(reach float64) float64 {
	to := 0
	for to+1 < len(r.marks) && float64(r.places[to]) < reach {
		to++
	}
	return 1 / r.pitch(0, to)
}

// speedAtEnd is the same of the last ones.
func (r *row) speedAtEnd(reach float64) float64 {
	last := len(r.marks) - 1
	from := last
	for from > 0 && float64(r.places[last]-r.places[from]) < reach {
		from--
	}
	return 1 / r.pitch(from, last)
}
