package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Spark is a short damped ringing at fixed angles of the engine's cycle, as
// ignition or injector switching leaves on a sensor's wires.
type Spark struct {
	// AnglesDeg are the crank angles at which it starts, rising, 0 to below
	// 720; crank degrees count from the crank wheel's first tooth.
	AnglesDeg []float64 `json:"angles_deg"`
	// HeightV is the height of its start at AtRPM, negative for one that starts
	// downwards.
	HeightV float64 `json:"height_v"`
	AtRPM   float64 `json:"at_rpm"`
	// Power is the growth with speed: 0 none, 1 in proportion, 2 its square.
	Power  float64 `json:"power"`
	RingHz float64 `json:"ring_hz"`
	DecayS float64 `json:"decay_s"` // time in which it falls to 1/e
	// Jitter is the standard deviation of the height, as a share of it.
	Jitter float64 `json:"jitter"`
}

// HeightAt is the mean height at an engine speed.
func (s Spark) HeightAt(rpm float64) float64 {
	return s.HeightV * math.Pow(rpm/s.AtRPM, s.Power)
}

func (s Spark) check() error {
	for i, a := range s.AnglesDeg {
		if !(a >= 0 && a < 720) || i > 0 && a <= s.AnglesDeg[i-1] {
			return fmt.Errorf("spark at %g°: want rising angles from 0 to below 720", a)
		}
	}
	if len(s.AnglesDeg) == 0 || !(s.AtRPM > 0 && s.DecayS > 0 && s.RingHz >= 0 && s.Jitter >= 0) {
		return fmt.Errorf("spark wants angles, a speed and a decay above 0")
	}
	if math.IsNaN(s.HeightV+s.Power) || math.IsInf(s.HeightV+s.AtRPM+s.DecayS+s.RingHz+s.Jitter+s.Power, 0) {
		return fmt.Errorf("spark has a value that is not finite")
	}
	return nil
}

// sparks makes one Spark sample by sample. The ringing is a complex number that
// turns and shrinks; sparks that overlap add.
type sparks struct {
	Spark
	random *rand.Rand
	ring   complex128
	turn   complex128 // by which the ring moves on in one sample
	stepS  float64
	next   int // index of the next spark, counted from cycle 0
	begun  bool
}

func newSparks(s Spark, stepS float64, random *rand.Rand) *sparks {
	g := &sparks{Spark: s, random: random, stepS: stepS}
	g.turn = g.after(stepS)
	return g
}

// after is what is left of a ring of 1 after a time.
func (g *sparks) after(s float64) complex128 {
	sin, cos := math.Sincos(2 * math.Pi * g.RingHz * s)
	size := math.Exp(-s / g.DecayS)
	return complex(size*cos, size*sin)
}

// at gives the sample at a crank angle, in turns.
func (g *sparks) at(turns, turnsPerS float64) float64 {
	if !g.begun {
		for g.angle(g.next) < turns {
			g.next++
		}
		g.begun = true
	}
	g.ring *= g.turn
	for g.angle(g.next) <= turns {
		ago := g.stepS
		if turnsPerS > 0 {
			ago = min(g.stepS, (turns-g.angle(g.next))/turnsPerS)
		}
		height := g.HeightAt(60*turnsPerS) * (1 + g.Jitter*g.random.NormFloat64())
		g.ring += complex(height, 0) * g.after(ago)
		g.next++
	}
	return real(g.ring)
}

// angle is the crank angle of a spark in turns.
func (g *sparks) angle(index int) float64 {
	cycle, i := index/len(g.AnglesDeg), index%len(g.AnglesDeg)
	return 2*float64(cycle) + g.AnglesDeg[i]/360
}
