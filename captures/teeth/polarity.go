package teeth

import (
	"fmt"
	"math"
	"slices"
)

// swings are the falls or the rises through the rest level, strong and weak, at
// the beginning of a capture.
type swings struct {
	finder
	marks []mark
}

// followSwings goes on with both, as far as the wave is there.
func (r *run) followSwings() {
	if r.seeking {
		return
	}
	for i := range r.swings {
		r.swings[i].follow(r.w, scale{width: r.forward.width, flux: r.forward.flux}, r.forward.next)
	}
}

func (s *swings) follow(w *window, again scale, from int64) {
	for len(s.marks) < keepMarks {
		p, ok := s.find(w)
		if !ok {
			if s.lost() {
				s.begin(again, from)
			}
			return
		}
		m := mark{at: p.at, width: p.width, own: p.own, flux: p.flux, isNew: p.isNew}
		m.peakV = w.extreme(p.at, -p.width, s.sign)
		m.troughV = w.extreme(p.at, p.width, -s.sign)
		s.marks = append(s.marks, m)
	}
}

// needs is the position from which the wave has to be kept.
func (s *swings) needs() int64 {
	if len(s.marks) >= keepMarks {
		return math.MaxInt64
	}
	return s.next - int64(6*s.width) - 8
}

// extreme is about how far from rest the half-wave goes that begins at a
// position and is about width long, backwards if that is negative.
func (w *window) extreme(at, width, sign float64) float64 {
	half := max(0.2*math.Abs(width), 0.75)
	highest := 0.0
	for part := 0.2; part < 1.2; part += 0.1 {
		x := at + part*width
		v := sign * (w.mean(x-half, x+half) - w.rest)
		if v < highest {
			break
		}
		highest = max(highest, v)
	}
	return highest
}

// polarity judges which way round the wires are. A missing tooth leaves one
// long interval between the falls at the teeth; between the rises, which lie in
// the spaces, it leaves two that are shorter: m missing teeth give one of m+1
// pitches against two of (m+2)/2. Seen the other way round, the wires are
// swapped.
func (r *run) polarity() (polarity, why string) {
	at, against := longestRun(r.swings[0].marks), longestRun(r.swings[1].marks)
	if len(at) < 6 || len(against) < 6 {
		return Unknown, "too few teeth were seen"
	}
	if sparse(at) || sparse(against) {
		return byStrength(at, against)
	}
	fall, rise := longest(at), longest(against)
	evidence := fmt.Sprintf("the longest intervals are %.2g pitches between falls through the rest level, %.2g between rises", fall, rise)
	switch {
	case fall < 1.3 && rise < 1.3:
		return Unknown, "the wheel shows no gap, and without one both ways round look alike"
	case fall >= 1.4 && fall > 1.15*rise:
		return Normal, evidence
	case rise >= 1.4 && rise > 1.15*fall:
		return Reversed, evidence
	}
	return Unknown, evidence
}

// longestRun is the most marks in a row through which the wave was not lost.
func longestRun(marks []mark) []mark {
	var longest []mark
	from := 0
	for i := 1; i <= len(marks); i++ {
		if i == len(marks) || marks[i].isNew {
			if i-from > len(longest) {
				longest = marks[from:i]
			}
			from = i
		}
	}
	return longest
}

// longest is the longest interval that comes in every turn, in intervals usual
// about it; where turns cannot be told, the usual length of those that stand
// out; 1 where none does. With few teeth in a turn the speed changes too much
// from one to the next, and the lobes' height has to tell it.
func longest(marks []mark) float64 {
	const near = 4
	in := newIntervals(marks)
	relative := medians(in.samples, near)
	for i, length := range in.samples {
		relative[i] = length / relative[i]
	}
	n := period(in.pitches)
	switch {
	case n >= manyTeeth:
		return slices.Max(bySlot(relative, n))
	case n > 0:
		return slices.Max(bySlot(in.pitches, n))
	}
	var long []float64
	for _, p := range relative {
		if p > 1.3 {
			long = append(long, p)
		}
	}
	if len(long) < 2 || 100*len(long) < len(marks) {
		return 1
	}
	return median(long)
}

// sparse tells that pulses stand apart, as of a cam with a few teeth.
func sparse(marks []mark) bool {
	var apart []float64
	for i := 1; i < len(marks); i++ {
		apart = append(apart, (marks[i].at-marks[i-1].at)/(marks[i].own*pitchPerWidth))
	}
	return median(apart) > 2.5
}

// byStrength judges pulses that stand apart: the swing through a tooth is the
// whole of its flux, the swings before and behind it are half.
func byStrength(falls, rises []mark) (polarity, why string) {
	var f, r []float64
	for _, m := range falls {
		f = append(f, m.flux)
	}
	for _, m := range rises {
		r = append(r, m.flux)
	}
	ratio := median(f) / median(r)
	why = fmt.Sprintf("at a tooth the fall is %.2g times as strong as the rises beside it", ratio)
	switch {
	case ratio > 1.3:
		return Normal, why
	case ratio < 1/1.3:
		return Reversed, fmt.Sprintf("at a tooth the rise is %.2g times as strong as the falls beside it", 1/ratio)
	}
	return Unknown, why
}
