package replay

import (
	"armcurve/captures"
	"armcurve/threshold"
)

// SpeedFrom is what an input takes its speed from.
type SpeedFrom int

const (
	Revolution SpeedFrom = iota // the last whole turn of counted events
	Interval                    // the last interval between two of them
)

// CountsOn is the instant that an input counts.
type CountsOn int

const (
	Fall  CountsOn = iota // the fall through the firing level, once armed
	Level                 // the rise through the threshold
)

// Options say what is known of the input and of the wheel.
type Options struct {
	// Tables are replayed side by side; at least one.
	Tables []threshold.Table
	// Wheel is the one that the input is set to. Where it is not known, the
	// wave's own count of teeth takes its place.
	Wheel captures.Wheel
	OnCam bool // the wheel turns once in two turns of the engine

	SpeedFrom SpeedFrom
	CountsOn  CountsOn
	// HysteresisV is the distance, in volts, between the levels that arm from
	// below 0 and fire: an armed input fires at rest − HysteresisV/2.
	HysteresisV float64
	ClampV      captures.Maybe // level the input holds larger signals at
	// FilterHz is the corner of a one-pole filter before the comparator.
	FilterHz captures.Maybe

	CrankingRPM float64 // up to 1.5 times it, the starter turns the engine; 0: 200
	Confidence  float64 // of bounds, one-sided; 0: 0.95
	KeepEvents  bool    // list every miss and every false event
	KeepTeeth   bool    // for Replay.Crossings
	KeepWave    bool    // some of it, to compare with another sensor's
	View        Viewer  // may be nil
	// KeptPerTooth is what whoever replays keeps of each tooth, bytes: the replay
	// keeps the less, up to 32 being kept in all.
	KeptPerTooth int
}

func (o Options) crankingTopRPM() float64 { return 1.5 * o.CrankingRPM }

// turnsPerWheel is the turns of the engine in one of the wheel.
func (o Options) turnsPerWheel() float64 {
	if o.OnCam {
		return 2
	}
	return 1
}
