package teeth

import (
	"armcurve/captures/teeth/pulses"
)

// compactMark is what is kept of a mark until the end, when the signal and the polarity are
// judged: little, as there are many.
type compactMark struct {
	at                               float64
	width, own, flux, peakV, troughV float32
	isNew                            bool
}

func compact(m *pulses.Mark) compactMark {
	return compactMark{m.At, float32(m.Width), float32(m.Own), float32(m.Flux), float32(m.PeakV), float32(m.TroughV), m.IsNew}
}

// mark has nothing of what is not kept.
func (s *compactMark) mark() pulses.Mark {
	return pulses.Mark{At: s.at, Own: float64(s.own), Flux: float64(s.flux), Swing: float64(s.flux), PeakV: float64(s.peakV), TroughV: float64(s.troughV)}
}

// longestRun is the most marks in a row through which the wave was not lost.
func longestRun(kept []compactMark) []pulses.Mark {
	var longest []compactMark
	from := 0
	for i := 1; i <= len(kept); i++ {
		if i == len(kept) || kept[i].isNew {
			if i-from > len(longest) {
				longest = kept[from:i]
			}
			from = i
		}
	}
	run := make([]pulses.Mark, len(longest))
	for i := range longest {
		run[i] = longest[i].mark()
	}
	return run
}
