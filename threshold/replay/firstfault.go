package replay

import "armcurve/captures"

// firstFault is where an input's first fault was. Its speed is that of the turn
// about it, which is whole half a turn later: neither a compression nor what
// shifts one tooth is in it.
type firstFault struct {
	met   bool
	teeth int64 // settled until then
	known bool
	rpm   float64
}

func (x *firstFault) meet(f *fault, teeth int64) {
	if x.met {
		return
	}
	*x = firstFault{met: true, teeth: teeth, rpm: float64(f.rpm), known: f.is(standing)}
}

// pass takes the speed once the turn about the fault is whole.
func (x *firstFault) pass(r *Replay) {
	turn := r.past.turn
	if !x.met || x.known || turn == 0 || len(r.past.teeth) <= turn || r.teeth-x.teeth < int64(turn/2) {
		return
	}
	x.known, x.rpm = true, r.turnRPM(x.rpm)
}

// speed is that of the first fault; where the wave ended sooner, that of the
// last turn, or of the tooth.
func (x *firstFault) speed(r *Replay) captures.Maybe {
	switch {
	case !x.met:
		return captures.Maybe{}
	case x.known:
		return captures.Finite(x.rpm)
	}
	if rpm := r.turnRPM(x.rpm); rpm > 0 {
		return captures.Finite(rpm)
	}
	return captures.Maybe{}
}
