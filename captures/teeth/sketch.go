package teeth

import "armcurve/captures/teeth/wheels"

// sketch is what is kept of a mark until the end, when the signal and the polarity are
// judged: little, as there are many.
type sketch struct {
	at                               float64
	width, own, flux, peakV, troughV float32
	isNew                            bool
}

func sketchOf(m *mark) sketch {
	return sketch{m.at, float32(m.width), float32(m.own), float32(m.flux), float32(m.peakV), float32(m.troughV), m.isNew}
}

// mark has nothing of what is not kept.
func (s *sketch) mark() wheels.Mark {
	return wheels.Mark{At: s.at, Own: float64(s.own), Flux: float64(s.flux), PeakV: float64(s.peakV), TroughV: float64(s.troughV)}
}

// longestRun is the most marks in a row through which the wave was not lost.
func longestRun(kept []sketch) []wheels.Mark {
	var longest []sketch
	from := 0
	for i := 1; i <= len(kept); i++ {
		if i == len(kept) || kept[i].isNew {
			if i-from > len(longest) {
				longest = kept[from:i]
			}
			from = i
		}
	}
	run := make([]wheels.Mark, len(longest))
	for i := range longest {
		run[i] = longest[i].mark()
	}
	return run
}
