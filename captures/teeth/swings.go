package teeth

import (
	"math"

	"armcurve/captures/teeth/pulses"
)

// swings are the falls or the rises through the rest level, strong and weak, at
// the beginning of a capture.
type swings struct {
	finder
	marks []compactMark
}

// followSwings goes on with both, as far as the wave is there.
func (r *run) followSwings() {
	if r.seeking {
		return
	}
	for i := range r.swings {
		again := scale{width: r.forward.width, flux: r.forward.flux}
		r.swings[i].follow(r.w, again, r.forward.next)
		r.swings[i].rejoin(again, r.forward.next)
	}
}

// strayedTimes is how many times as wide as the pulses of the wave those found in it
// are that are no swings of it.
const strayedTimes = 2

// rejoin begins again with the scale of the wave where something else was followed:
// where the wave is lost the filter widens, and what it then finds may be every
// other swing, or fewer.
func (s *swings) rejoin(again scale, from int64) {
	if s.width < strayedTimes*again.width || len(s.marks) >= keepMarks {
		return
	}
	last := len(s.marks)
	for last > 0 && float64(s.marks[last-1].width) >= strayedTimes*again.width {
		last--
	}
	s.marks = s.marks[:last]
	s.begin(again, from)
}

func (s *swings) follow(w *window, again scale, from int64) {
	for len(s.marks) < keepMarks {
		p, ok := s.goOn(w)
		if !ok {
			if s.lost() {
				s.begin(again, from)
			}
			return
		}
		m := pulses.Mark{At: p.at, Width: p.width, Own: p.own, Flux: p.flux, Swing: p.swing, IsNew: p.isNew}
		m.PeakV = w.extreme(p.at, -p.width, s.sign)
		m.TroughV = w.extreme(p.at, p.width, -s.sign)
		s.marks = append(s.marks, compact(&m))
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
	for part := 0.2; part < 2; part += 0.1 {
		x := at + part*width
		v := sign * (w.mean(x-half, x+half) - w.rest)
		if v < 0.5*highest {
			break // beyond the half-wave; noise alone makes less of a dip
		}
		highest = max(highest, v)
	}
	return highest
}
