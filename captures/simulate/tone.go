package simulate

import (
	"fmt"
	"math"
)

// Tone is a steady sine, fixed in frequency or tied to the engine's speed.
type Tone struct {
	AmplitudeV float64 `json:"amplitude_v"`
	// Hz is the frequency of a fixed tone.
	Hz float64 `json:"hz"`
	// PerTurn is the number of cycles in one turn of the crank: an alternator's
	// ripple, or with a whole number something on the crank itself.
	PerTurn float64 `json:"per_turn"`
	// GrowsFromRPM makes the amplitude proportional to speed, AmplitudeV
	// holding at this one; 0 keeps it.
	GrowsFromRPM float64 `json:"grows_from_rpm"`
	Window
}

func (t Tone) check(sampleHz float64) error {
	if !(t.AmplitudeV >= 0 && t.Hz >= 0 && t.PerTurn >= 0 && t.GrowsFromRPM >= 0) ||
		math.IsInf(t.AmplitudeV+t.Hz+t.PerTurn+t.GrowsFromRPM, 0) {
		return fmt.Errorf("tone of %g V at %g Hz or %g per turn: want 0 or more", t.AmplitudeV, t.Hz, t.PerTurn)
	}
	if t.Hz > sampleHz/2 {
		return fmt.Errorf("tone is at %g Hz: want at most half the sample rate, %g Hz", t.Hz, sampleHz/2)
	}
	return nil
}

func (t Tone) at(atS, turns, rpm float64) float64 {
	if !t.holds(atS) {
		return 0
	}
	v := t.AmplitudeV
	if t.GrowsFromRPM > 0 {
		v *= rpm / t.GrowsFromRPM
	}
	cycles := t.Hz*atS + t.PerTurn*turns
	return v * math.Sin(2*math.Pi*(cycles-math.Floor(cycles)))
}
