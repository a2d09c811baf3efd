package simulate

import (
	"encoding/json"
	"fmt"
	"math"

	"armcurve/captures"
)

// ShortTooth is a damaged tooth.
type ShortTooth struct {
	Tooth int     `json:"tooth"` // from 1, the first after the longest gap
	MM    float64 `json:"mm"`    // by which it is too short; 50 is broken off
}

// Sensor is one wheel with its sensor, and what disturbs its wires. Lengths of
// 0 stand for the usual: see the fields.
type Sensor struct {
	Name  string         `json:"name"`   // captures.Crank or captures.Cam
	Wheel captures.Wheel `json:"-"`      // its text when written
	OnCam bool           `json:"on_cam"` // the wheel turns once in two turns of the crank
	AtDeg float64        `json:"at_deg"` // crank degrees of the wheel's place 0

	DiameterMM float64 `json:"diameter_mm"`
	ToothMM    float64 `json:"tooth_mm"` // along the rim; 0: half a pitch, or a twentieth of the rim
	PoleMM     float64 `json:"pole_mm"`  // of the sensor, along the rim; 0: 0.6 of the tooth
	GapMM      float64 `json:"gap_mm"`   // air between tooth and pole
	// LinkageVS is the winding's turns times the flux that a wide tooth adds
	// without an air gap, in volt seconds: it scales the voltage.
	LinkageVS float64 `json:"linkage_v_s"`

	RunOutMM  float64      `json:"run_out_mm"`  // the gap swings by ± this over the wheel's turn
	RunOutDeg float64      `json:"run_out_deg"` // wheel angle of the widest gap
	Short     []ShortTooth `json:"short,omitempty"`
	// HumpShare is what stands in the middle of each gap, as a share of a
	// whole tooth.
	HumpShare float64 `json:"hump_share"`
	// Slotted has slots where the wheel has teeth, which turns the wave over.
	Slotted bool `json:"slotted"`

	// SquareV makes it a switching (Hall or optical) sensor between 0 V and
	// SquareV instead, low in front of a tooth, so that it falls there.
	SquareV float64 `json:"square_v"`

	Coil     Coil `json:"coil"`
	Reversed bool `json:"reversed"` // wires swapped

	Noise    []Noise  `json:"noise,omitempty"`
	Tones    []Tone   `json:"tones,omitempty"`
	Sparks   []Spark  `json:"sparks,omitempty"`
	Dropouts []Window `json:"dropouts,omitempty"` // the sensor's signal is lost
	CrossS   float64  `json:"cross_s"`            // cross-talk: seconds times the rate of change of the other sensors' voltage
	Recorder Recorder `json:"recorder"`
}

// MarshalJSON writes the sensor with its wheel as text and the places of the
// teeth.
func (s Sensor) MarshalJSON() ([]byte, error) {
	type plain Sensor
	return json.Marshal(struct {
		Wheel  string    `json:"wheel"`
		Places []float64 `json:"places_turns"`
		plain
	}{s.Wheel.String(), s.places(), plain(s)})
}

// upsideDown tells that the wave on the wires has its teeth on the negative
// side.
func (s *Sensor) upsideDown() bool { return s.Slotted != s.Reversed }

// pitchMM is the regular distance of teeth along the rim; 0 for a wheel by
// angles.
func (s *Sensor) pitchMM() float64 {
	if s.Wheel.Pitches == 0 {
		return 0
	}
	return math.Pi * s.DiameterMM / float64(s.Wheel.Pitches)
}

func (s *Sensor) toothMM() float64 {
	switch {
	case s.ToothMM > 0:
		return s.ToothMM
	case s.Wheel.Pitches > 1:
		return s.pitchMM() / 2
	}
	return math.Pi * s.DiameterMM / 20
}

func (s *Sensor) poleMM() float64 {
	if s.PoleMM > 0 {
		return s.PoleMM
	}
	return 0.6 * s.toothMM()
}

// places are the teeth present as parts of the wheel's turn, rising from 0.
func (s *Sensor) places() []float64 {
	var places []float64
	for _, p := range s.Wheel.Positions {
		places = append(places, float64(p)/float64(s.Wheel.Pitches))
	}
	for _, a := range s.Wheel.AnglesDeg {
		places = append(places, a/360*s.perCrank())
	}
	return places
}

// perCrank is the turns of the wheel in one turn of the crank.
func (s *Sensor) perCrank() float64 {
	if s.OnCam {
		return 0.5
	}
	return 1
}

// wheelTurns turns a crank angle into the wheel's, both in turns.
func (s *Sensor) wheelTurns(crankTurns float64) float64 {
	return (crankTurns - s.AtDeg/360) * s.perCrank()
}

// gapBefore tells for each tooth whether teeth are missing before it.
func (s *Sensor) gapBefore() []bool {
	w := s.Wheel
	before := make([]bool, w.TeethPresent())
	for i, p := range w.Positions {
		previous := w.Positions[(i+len(w.Positions)-1)%len(w.Positions)]
		before[i] = w.Gapped() && (p-previous-1+w.Pitches)%w.Pitches != 0
	}
	return before
}

// gapMiddles are the places of the middles of the gaps.
func (s *Sensor) gapMiddles() []float64 {
	w := s.Wheel
	var middles []float64
	for i, isGap := range s.gapBefore() {
		if !isGap {
			continue
		}
		previous := w.Positions[(i+len(w.Positions)-1)%len(w.Positions)]
		span := w.Positions[i] - previous
		if span <= 0 {
			span += w.Pitches
		}
		middle := (float64(previous) + float64(span)/2) / float64(w.Pitches)
		middles = append(middles, middle-math.Floor(middle))
	}
	return middles
}

// detail is the shortest feature of the wave as a part of the wheel's turn.
func (s *Sensor) detail() float64 {
	rimMM := math.Pi * s.DiameterMM
	if s.Wheel.Pitches > 1 {
		return 1 / float64(s.Wheel.Pitches)
	}
	return min(0.5, (s.toothMM()+s.poleMM()+2*s.GapMM)/rimMM)
}

func (s *Sensor) check(sampleHz float64) error {
	if err := s.checkWheel(); err != nil {
		return err
	}
	if err := s.Coil.check(); err != nil {
		return err
	}
	for _, n := range s.Noise {
		if err := n.check(sampleHz); err != nil {
			return err
		}
	}
	for _, t := range s.Tones {
		if err := t.check(sampleHz); err != nil {
			return err
		}
	}
	for _, k := range s.Sparks {
		if err := k.check(); err != nil {
			return err
		}
	}
	for i, d := range s.Dropouts {
		if !(d.FromS >= 0 && d.UntilS > d.FromS) || i > 0 && !(d.FromS >= s.Dropouts[i-1].UntilS) {
			return fmt.Errorf("dropout from %g s to %g s: want them to last, in order", d.FromS, d.UntilS)
		}
	}
	if math.IsNaN(s.CrossS) || math.IsInf(s.CrossS, 0) {
		return fmt.Errorf("cross-talk is not finite")
	}
	return s.Recorder.check()
}

func (s *Sensor) checkWheel() error {
	if !s.Wheel.Known() || s.Wheel.TeethPresent() == 0 {
		return fmt.Errorf("wheel is not given")
	}
	last := math.Inf(-1)
	for _, place := range s.places() {
		if !(place >= 0 && place < 1 && place > last) {
			return fmt.Errorf("wheel %s has a tooth beyond its turn or out of order", s.Wheel)
		}
		last = place
	}
	for _, v := range []float64{s.LinkageVS, s.HumpShare, s.SquareV} {
		if !(v >= 0 && v <= 1e6) {
			return fmt.Errorf("sensor has a strength of %g: want 0 to 1e6", v)
		}
	}
	if !(s.DiameterMM >= 1 && s.DiameterMM <= 1e5) {
		return fmt.Errorf("wheel has a diameter of %g mm: want 1 to 1e5 mm", s.DiameterMM)
	}
	for _, v := range []float64{s.ToothMM, s.PoleMM} {
		if v != 0 && !(v >= 0.01 && v <= math.Pi*s.DiameterMM) {
			return fmt.Errorf("tooth or pole is %g mm long: want 0.01 mm to the whole rim", v)
		}
	}
	if s.SquareV == 0 && !(s.GapMM-math.Abs(s.RunOutMM) >= 0.01 && s.GapMM <= 1e5) {
		return fmt.Errorf("gap is %g mm with a run-out of %g mm: want some air left", s.GapMM, s.RunOutMM)
	}
	for _, short := range s.Short {
		if short.Tooth < 1 || short.Tooth > s.Wheel.TeethPresent() || !(short.MM >= 0) || math.IsInf(short.MM, 0) {
			return fmt.Errorf("short tooth %d by %g mm: want a tooth of the wheel and 0 mm or more", short.Tooth, short.MM)
		}
	}
	return nil
}
