package simulate

import (
	"math"

	"armcurve/captures"
)

// Tooth is the truth of one tooth. TimeS and PeakV are those of the wave at the
// sensor's terminals in its right polarity, through the coil, before noise and
// recorder; RPM is the engine's speed at that instant, ripple included.
type Tooth struct {
	captures.Tooth
	Sensor   string
	Turn     int  // whole turns of the wheel at this tooth, from its place 0
	AfterGap bool // the first after a gap
	// Unseen tells that the recorded wave does not have it: it is broken off
	// (PeakV is 0, TimeS its expected instant), or its peak or its crossing
	// fell into a dropout.
	Unseen bool
}

// Turn is the truth of one whole turn of a wheel, from its first tooth to the
// next time that it passes.
type Turn struct {
	Sensor   string         `json:"-"`
	StartS   float64        `json:"start_s"`
	RPM      float64        `json:"rpm"`       // of the engine, mean over the turn
	PeakV    captures.Maybe `json:"peak_v"`    // mean of the teeth seen, without those after a gap
	WeakestV captures.Maybe `json:"weakest_v"` // of the teeth seen, any
	Ripple   float64        `json:"ripple"`    // (mean − slowest) ÷ mean, by the speeds at the teeth
	Unseen   int            `json:"unseen"`    // teeth that the wave does not have
}

// Truth is what there is to know of a capture.
type Truth struct {
	Rig   Rig
	Teeth []Tooth // of all sensors, those of each in order of time
	Turns []Turn  // likewise
}

// Listen collects the truth of a source that has not been read yet. It is
// complete when the source has been read to its end, and grows by some 80 bytes
// a tooth. It takes the place of a Watch.
func Listen(s *Source) *Truth {
	truth := &Truth{Rig: s.rig}
	turns := map[string]*turning{}
	for i := range s.rig.Sensors {
		sensor := &s.rig.Sensors[i]
		turns[sensor.Name] = &turning{perCrank: sensor.perCrank()}
	}
	s.Watch(func(t Tooth) {
		truth.Teeth = append(truth.Teeth, t)
		if turn, done := turns[t.Sensor].add(t); done {
			truth.Turns = append(truth.Turns, turn)
		}
	})
	return truth
}

// turning gathers one turn of a wheel.
type turning struct {
	perCrank float64
	begun    bool
	now      Turn
	sumV     float64 // of the peaks in the mean
	peaks    int
	weakestV float64
	slowest  float64
}

// add takes the next tooth and gives the turn that it completes.
func (g *turning) add(t Tooth) (Turn, bool) {
	var whole Turn
	done := false
	if t.Number == 1 {
		if whole, done = g.now, g.begun; done {
			whole.RPM = 60 / ((t.TimeS - whole.StartS) * g.perCrank)
			whole.Ripple = 1 - g.slowest/whole.RPM
			whole.PeakV = captures.Finite(g.sumV / float64(g.peaks))
			whole.WeakestV = captures.Finite(g.weakestV)
		}
		*g = turning{perCrank: g.perCrank, begun: true, weakestV: math.Inf(1), slowest: math.Inf(1)}
		g.now = Turn{Sensor: t.Sensor, StartS: t.TimeS}
	}
	g.slowest = min(g.slowest, t.RPM)
	if t.Unseen {
		g.now.Unseen++
		return whole, done
	}
	g.weakestV = min(g.weakestV, t.PeakV)
	if !t.AfterGap {
		g.sumV += t.PeakV
		g.peaks++
	}
	return whole, done
}
