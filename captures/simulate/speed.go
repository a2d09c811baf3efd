package simulate

import (
	"fmt"
	"math"
)

// Point is one corner of a speed profile.
type Point struct {
	AtS float64 `json:"at_s"` // seconds from the first sample
	RPM float64 `json:"rpm"`  // mean speed of the engine, without the ripple
}

// Profile is the mean engine speed over time, straight between its points and
// flat before the first and after the last. Times rise strictly.
type Profile []Point

// Steady is a profile of one speed.
func Steady(rpm float64) Profile { return Profile{{0, rpm}} }

// Pull is one even sweep from one speed to another.
func Pull(fromRPM, toRPM, seconds float64) Profile {
	return Profile{{0, fromRPM}, {seconds, toRPM}}
}

// CrankAndStart cranks for the given time, then the engine catches, flares and
// settles at idle.
func CrankAndStart(crankingRPM, seconds, idleRPM float64) Profile {
	return Profile{
		{0, crankingRPM}, {seconds, crankingRPM},
		{seconds + 0.5, 1.6 * idleRPM}, {seconds + 0.8, 1.6 * idleRPM}, {seconds + 1.6, idleRPM},
	}
}

// MaxRPM is the highest mean speed of the profile.
func (p Profile) MaxRPM() float64 {
	top := 0.0
	for _, point := range p {
		top = max(top, point.RPM)
	}
	return top
}

func (p Profile) check() error {
	if len(p) == 0 {
		return fmt.Errorf("speed profile is empty: want at least one point")
	}
	for i, point := range p {
		if !(point.RPM >= 0 && point.RPM <= 50000) {
			return fmt.Errorf("speed profile point %d: found %g rpm, want 0 to 50000", i+1, point.RPM)
		}
		if i > 0 && !(point.AtS > p[i-1].AtS) {
			return fmt.Errorf("speed profile point %d: found %g s, want a time after %g s", i+1, point.AtS, p[i-1].AtS)
		}
		if math.IsInf(point.AtS, 0) || math.IsNaN(point.AtS) {
			return fmt.Errorf("speed profile point %d: time is not finite", i+1)
		}
	}
	return nil
}

// Ripple is the slowing of the engine at every compression of a four-stroke.
type Ripple struct {
	// Share is (mean − slowest) ÷ mean at and below AtRPM, 0 to below 1.
	// Above, it falls with speed to the power of 1.5: between the square law
	// of a flywheel that gives a fixed energy and the law of a gas torque that
	// grows with speed.
	Share     float64 `json:"share"`
	AtRPM     float64 `json:"at_rpm"`
	Cylinders int     `json:"cylinders"`
}

// At is the ripple at a mean speed.
func (r Ripple) At(rpm float64) float64 {
	if rpm <= r.AtRPM {
		return r.Share
	}
	q := r.AtRPM / rpm
	return r.Share * q * math.Sqrt(q)
}

func (r Ripple) check() error {
	if !(r.Share >= 0 && r.Share < 1) {
		return fmt.Errorf("ripple is %g: want 0 to below 1", r.Share)
	}
	if r.Share > 0 && (r.Cylinders < 1 || r.Cylinders > 16 || !(r.AtRPM > 0) || math.IsInf(r.AtRPM, 0)) {
		return fmt.Errorf("ripple has %d cylinders at %g rpm: want 1 to 16 and a speed above 0", r.Cylinders, r.AtRPM)
	}
	return nil
}

// leg is a stretch of the profile with constant acceleration. Turns are of the
// mean crank, without ripple.
type leg struct {
	fromS      float64
	turns      float64 // at fromS
	turnsPerS  float64 // at fromS
	turnsPerS2 float64
}

// motion gives the crank's angle and speed at any time; times before 0 belong
// to the run-in, at the first speed.
type motion struct {
	legs   []leg
	last   int // the leg used last: times come nearly in order
	ripple Ripple
}

func newMotion(p Profile, ripple Ripple) *motion {
	m := &motion{ripple: ripple}
	first := p[0].RPM / 60
	// The leg before the first point passes angle 0 at time 0, whatever the
	// time of the point.
	legs := []leg{{fromS: math.Inf(-1), turnsPerS: first}}
	turns := first * p[0].AtS
	for i, point := range p {
		l := leg{fromS: point.AtS, turns: turns, turnsPerS: point.RPM / 60}
		if i+1 < len(p) {
			span := p[i+1].AtS - point.AtS
			l.turnsPerS2 = (p[i+1].RPM/60 - l.turnsPerS) / span
			turns += (l.turnsPerS + p[i+1].RPM/60) / 2 * span
		}
		legs = append(legs, l)
	}
	m.legs = legs
	return m
}

// mean gives the angle, speed and acceleration without the ripple, in turns.
func (m *motion) mean(atS float64) (turns, turnsPerS, turnsPerS2 float64) {
	for m.last+1 < len(m.legs) && atS >= m.legs[m.last+1].fromS {
		m.last++
	}
	for atS < m.legs[m.last].fromS {
		m.last--
	}
	l := &m.legs[m.last]
	s := atS
	if m.last > 0 {
		s -= l.fromS
	}
	return l.turns + s*(l.turnsPerS+s*l.turnsPerS2/2), l.turnsPerS + s*l.turnsPerS2, l.turnsPerS2
}

// at gives the crank's angle in turns and its speed in turns per second.
//
// With φ the mean angle, c cylinders and ripple r, the speed is
// φ′·(1 − r·cos(cφ/2)) and its mean over a compression is φ′: the angle is
// θ = φ − (2r/c)·sin(cφ/2), here in turns. While r itself changes its rate adds
// a term to the speed.
func (m *motion) at(atS float64) (turns, turnsPerS float64) {
	turns, turnsPerS, accel := m.mean(atS)
	if m.ripple.Share == 0 {
		return turns, turnsPerS
	}
	c := float64(m.ripple.Cylinders)
	compressions := turns * c / 2
	sin, cos := math.Sincos(2 * math.Pi * (compressions - math.Floor(compressions)))
	rpm := 60 * turnsPerS
	r := m.ripple.At(rpm)
	swing := r / (math.Pi * c)
	speed := turnsPerS * (1 - r*cos)
	if rpm > m.ripple.AtRPM {
		speed += 1.5 * swing * accel / turnsPerS * sin
	}
	return turns - swing*sin, speed
}
