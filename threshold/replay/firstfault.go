package replay

import "armcurve/captures"

// firstFault is where an input's first fault was. Its speed is that of the turn
// about it: neither a compression nor what shifts one tooth is in it. Near the beginning
// and the end, where no whole turn is about it, the speed is taken to change as it does
// from the first turn to the next teeth, or to the last turn over the teeth before.
type firstFault struct {
	met    bool
	at     float64
	known  bool
	rpm    float64
	before turnSpeed // of the latest turn whose middle is before the fault
	first  turnSpeed // of the first turn, if its middle is behind
	teeth  int64     // settled by its end
}

// turnSpeed is the mean speed of a turn, where it began and where its middle was.
type turnSpeed struct{ from, at, rpm float64 }

func (x *firstFault) meet(f *fault) {
	if x.met {
		return
	}
	*x = firstFault{met: true, at: f.at, rpm: float64(f.rpm), known: f.is(standing)}
}

const (
	laterParts = 3 // teeth of a turn ÷ those from the first one to that which tells how the speed changes
	mostChange = 3 // times the mean of a turn that the speed at its beginning is, or that part of it: an engine that starts is thrice as fast within one
)

// pass takes the speed once a turn is whole that tells it.
func (x *firstFault) pass(r *Replay) {
	turn := r.past.turn
	if !x.met || x.known || turn == 0 || len(r.past.teeth) <= turn {
		return
	}
	switch now := r.turnTo(len(r.past.teeth) - 1); {
	case now.at < x.at:
		x.before = now
	case x.before.rpm > 0:
		x.known, x.rpm = true, x.before.towards(now, x.at)
	case x.first.rpm == 0:
		x.first, x.teeth = now, r.teeth
	case laterParts*(r.teeth-x.teeth) >= int64(turn):
		x.known, x.rpm = true, x.first.back(x.at, now)
	}
}

// towards is the speed at a position, on the line through two turns.
func (t turnSpeed) towards(later turnSpeed, at float64) float64 {
	return t.rpm + (later.rpm-t.rpm)*(at-t.at)/(later.at-t.at)
}

// back is the speed at a position in the first half of a turn, or up to a quarter of one
// before: earlier no more is known than then.
func (t turnSpeed) back(at float64, later turnSpeed) float64 {
	return t.about(t.towards(later, max(at, t.from-(t.at-t.from)/2)))
}

// about is a speed in a turn, as far as that may be.
func (t turnSpeed) about(rpm float64) float64 {
	return min(max(rpm, t.rpm/mostChange), t.rpm*mostChange)
}

// turnTo is that of the turn up to a tooth of the past.
func (r *Replay) turnTo(tooth int) turnSpeed {
	p := &r.past
	from, to := p.teeth[tooth-p.turn].at, p.teeth[tooth].at
	return turnSpeed{from: from, at: (from + to) / 2, rpm: 60 / r.info.StepS * r.o.turnsPerWheel() / (to - from)}
}

// speed is that of the first fault; where the wave ended before it was known, the one that
// the last turns lead to, or that of the tooth.
func (x *firstFault) speed(r *Replay) captures.Maybe {
	turn, last := r.past.turn, len(r.past.teeth)-1
	rpm := x.rpm
	if x.met && !x.known && turn > 0 && last >= turn {
		now := r.turnTo(last)
		rpm = now.rpm
		if before := last - max(1, turn/laterParts); before >= turn && x.at > now.at {
			rpm = now.about(r.turnTo(before).towards(now, min(x.at, r.past.teeth[last].at)))
		}
	}
	if !x.met || !(rpm > 0) {
		return captures.Maybe{}
	}
	return captures.Finite(rpm)
}
