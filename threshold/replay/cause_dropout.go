package replay

import "fmt"

// studyDropout: the wave all but vanishes where the wheel has teeth.
func studyDropout(q *inquiry) opinion {
	lost := q.which((*fault).isLost)
	bursts, last := 0, -1.0
	for _, f := range lost {
		if last < 0 || (f.at-last)*q.info.StepS*float64(f.rpm)/60 > 0.5 {
			bursts++
		}
		last = f.at
	}
	if mostHidden(lost) {
		return opinion{excluded: fmt.Sprintf("%s not seen, but the wave swings there as ever: they are hidden, not lost", teethCount(len(lost)))}
	}
	return opinion{
		explains: func(f *fault) bool { return f.isLost() || f.is(besideDip) },
		evidence: func(h hits) string {
			where := "at no fixed tooth"
			if bursts == 1 {
				where = "only once"
			}
			again := ""
			if q.before != nil && q.before.absent {
				again = "; it does not come again, and more may have passed than were counted"
			}
			return fmt.Sprintf("the wave itself is lost for %s in %s, %s: %s, so it is a contact and not the wheel%s",
				teethCount(len(lost)), counted(bursts, "burst"), h.between(), where, again)
		},
		excluded: fmt.Sprintf("%s lost from the wave", teethCount(len(lost))),
		advice:   "Look for a loose connector, a chafed wire or a cracked joint at the sensor: move the loom while recording",
		not:      "No threshold helps where there is no signal",
		evident:  true,
	}
}

// mostHidden tells that where most of the teeth are lost the wave is not.
func mostHidden(lost hits) bool {
	n := 0
	for _, f := range lost {
		if f.is(hidden) {
			n++
		}
	}
	return n > 0 && 2*n > len(lost)
}

func teethCount(n int) string {
	if n == 1 {
		return "1 tooth"
	}
	return plain(n) + " teeth"
}
