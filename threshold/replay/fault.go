package replay

// fault is a miss or a false event with what surrounded it; volts from rest.
type fault struct {
	at         float64 // position
	rpm        float32
	heightV    float32 // reached: by the tooth's arch, or by the event's
	thresholdV float32
	partV      float32 // of a false event: what is there turn by turn; NaN unknown. Of a flat top: its height as recorded; of another missed tooth its usual height, 0 unknown
	level      float32 // of a missed tooth: its usual height ÷ the mean tooth's; 0 unknown. Of a false event in a gap: how wide what is new in this turn is at half its height, pitches; NaN unknown
	dip        float32 // speed at the tooth ÷ speed of the turn; 0 unknown
	width      float32 // of a false event's arch, pitches
	part       float32 // of the way from its tooth to the next
	peakPart   float32 // the same for a false event's highest sample
	back       float32 // of the flux under a false event's arch in a gap, the part that goes back behind it
	tooth      uint16  // its own, or the one before a false event
	flags      flags
}

type flags uint16

const (
	isFalse   flags = 1 << iota // an event without a tooth; else a tooth without an event
	isUnseen                    // the tooth is absent from the wave
	collapsed                   // the wave all but vanished here
	hidden                      // of a tooth that is not seen: the wave swings there as teeth do
	besideDip                   // of a false event: near a tooth that is unseen or collapsed
	flatTop                     // the arch stands at the instrument's limit
	inGap                       // in a gap of the wheel
	split                       // the tooth's own arch ended early, or its event went to another place
	follows                     // at the true speed's threshold it would not have happened
	standing                    // no tooth near: the engine stands
	coarse                      // fewer than six samples in a pitch
)

// follows tells that a fault comes of the one before: of the threshold that it
// moved, or of the event that it took.
func (f *fault) follows() bool { return f.is(follows) || !f.is(isFalse) && f.is(split) }

func (f *fault) is(some flags) bool { return f.flags&some != 0 }

// isLowered tells that a missed tooth usually passes.
func (f *fault) isLowered() bool {
	isThere := !f.is(isUnseen|collapsed) || f.is(hidden)
	return isThere && !f.is(isFalse|flatTop|split|follows) && f.partV > f.thresholdV
}

// isLost tells that a tooth is not to be seen in the wave.
func (f *fault) isLost() bool { return f.is(isUnseen | collapsed) }

// faults keeps as many of them as memory allows (what is kept of a wave stays
// under 32 bytes a tooth): when there are too many, every
// second one is given up, and those that stay count twice.
type faults struct {
	list []fault
	each int64 // faults that one in the list stands for
	skip int64
}

const (
	faultBytes    = 56
	bytesPerTooth = 32      // of all that is kept
	fewFaults     = 1 << 13 // kept in any case
)

// add takes a fault; room is what all of them may take, bytes.
func (f *faults) add(x fault, room int64) {
	f.each = max(f.each, 1)
	if f.skip++; f.skip < f.each {
		return
	}
	f.skip = 0
	f.list = append(f.list, x)
	if n := int64(len(f.list)); n >= fewFaults && n*faultBytes > room {
		for i := 1; i < len(f.list); i += 2 {
			f.list[i/2] = f.list[i]
		}
		f.list = f.list[:len(f.list)/2]
		f.each *= 2
	}
}
