package simulate

import (
	"fmt"
	"math"
	"math/cmplx"
)

// Coil is the sensor's winding and what it is connected to. The zero value is
// a coil that nothing loads: the voltage is the electromotive force.
type Coil struct {
	ResistanceOhm float64 `json:"resistance_ohm"`
	InductanceH   float64 `json:"inductance_h"`
	LoadOhm       float64 `json:"load_ohm"`      // 0: nothing connected
	CapacitanceF  float64 `json:"capacitance_f"` // across the load
}

func (c Coil) check() error {
	for _, v := range []float64{c.ResistanceOhm, c.InductanceH, c.LoadOhm, c.CapacitanceF} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return fmt.Errorf("coil has %g: want 0 or more", v)
		}
	}
	if c.CapacitanceF > 0 && c.InductanceH == 0 {
		return fmt.Errorf("coil has a capacitance of %g F and no inductance: want both", c.CapacitanceF)
	}
	return nil
}

// Response is the ratio of terminal voltage to electromotive force at a steady
// frequency: its size is the roll-off, minus its angle the lag.
func (c Coil) Response(hz float64) complex128 {
	admittance := complex(0, 2*math.Pi*hz*c.CapacitanceF)
	if c.LoadOhm > 0 {
		admittance += complex(1/c.LoadOhm, 0)
	}
	return 1 / (1 + admittance*complex(c.ResistanceOhm, 2*math.Pi*hz*c.InductanceH))
}

// lagTurns is the lag at a frequency in turns of that frequency, 0 to 0.5.
func (c Coil) lagTurns(hz float64) float64 {
	return math.Max(0, -cmplx.Phase(c.Response(hz))/(2*math.Pi))
}

// settleS is a time in which the coil forgets how it started.
func (c Coil) settleS() float64 {
	if c.InductanceH == 0 || c.LoadOhm == 0 && c.CapacitanceF == 0 {
		return 0
	}
	settle := c.InductanceH / math.Max(c.ResistanceOhm+c.LoadOhm, 1)
	if c.CapacitanceF > 0 {
		// The slowest of the two decays is at most the sum of these.
		settle = 2*c.InductanceH/math.Max(c.ResistanceOhm, 1) + 2*c.LoadOhm*c.CapacitanceF
	}
	return 20 * settle
}

// circuit steps the coil through time. Its state is the current and the
// voltage of the capacitance. Over one step the electromotive force is a
// parabola through its values at the start, the middle and the end; for that
// the step is exact, so it is stable however short the coil's time constants.
type circuit struct {
	direct  float64 // terminal voltage per emf, where nothing is to be stepped
	stepped bool
	x       [2]float64
	phi     [2][2]float64
	gain    [3][2]float64 // by the emf at start, middle and end
	out     [2]float64
}

func newCircuit(c Coil, stepS float64) *circuit {
	if c.InductanceH == 0 || c.LoadOhm == 0 && c.CapacitanceF == 0 {
		return &circuit{direct: real(c.Response(0))}
	}
	k := &circuit{stepped: true}
	// x' = a·x + b·e, for the current alone or with the capacitance.
	var a [2][2]float64
	b := 1 / c.InductanceH
	if c.CapacitanceF == 0 {
		a[0][0] = -(c.ResistanceOhm + c.LoadOhm) / c.InductanceH
		k.out[0] = c.LoadOhm
	} else {
		a[0][0], a[0][1] = -c.ResistanceOhm/c.InductanceH, -1/c.InductanceH
		a[1][0] = 1 / c.CapacitanceF
		if c.LoadOhm > 0 {
			a[1][1] = -1 / (c.LoadOhm * c.CapacitanceF)
		}
		k.out[1] = 1
	}
	// The emf and its first two derivatives over the step join the state, so
	// one exponential holds all the integrals.
	var m matrix5
	for i := range 2 {
		for j := range 2 {
			m[i][j] = a[i][j] * stepS
		}
	}
	m[0][2] = b * stepS
	m[2][3], m[3][4] = 1, 1
	e := m.exp()
	for i := range 2 {
		k.phi[i] = [2]float64{e[i][0], e[i][1]}
		value, first, second := e[i][2], e[i][3], e[i][4]
		// Parabola through e0, em, e1: first derivative −3e0 + 4em − e1,
		// second 4e0 − 8em + 4e1.
		k.gain[0][i] = value - 3*first + 4*second
		k.gain[1][i] = 4*first - 8*second
		k.gain[2][i] = -first + 4*second
	}
	return k
}

// step moves on by one step and gives the terminal voltage.
func (k *circuit) step(e0, em, e1 float64) float64 {
	if !k.stepped {
		return k.direct * e1
	}
	x0, x1 := k.x[0], k.x[1]
	k.x[0] = k.phi[0][0]*x0 + k.phi[0][1]*x1 + k.gain[0][0]*e0 + k.gain[1][0]*em + k.gain[2][0]*e1
	k.x[1] = k.phi[1][0]*x0 + k.phi[1][1]*x1 + k.gain[0][1]*e0 + k.gain[1][1]*em + k.gain[2][1]*e1
	return k.out[0]*k.x[0] + k.out[1]*k.x[1]
}

type matrix5 [5][5]float64

// exp is the matrix exponential by halving, Taylor's series and squaring.
func (m matrix5) exp() matrix5 {
	norm := 0.0
	for _, row := range m {
		sum := 0.0
		for _, v := range row {
			sum += math.Abs(v)
		}
		norm = max(norm, sum)
	}
	halvings := 0
	for ; norm > 0.5; halvings++ {
		norm /= 2
	}
	scale := math.Ldexp(1, -halvings)
	var sum, term matrix5
	for i := range 5 {
		sum[i][i], term[i][i] = 1, 1
	}
	for n := 1; n <= 16; n++ {
		term = term.times(m, scale/float64(n))
		for i := range 5 {
			for j := range 5 {
				sum[i][j] += term[i][j]
			}
		}
	}
	for range halvings {
		sum = sum.times(sum, 1)
	}
	return sum
}

func (m matrix5) times(o matrix5, scale float64) matrix5 {
	var p matrix5
	for i := range 5 {
		for j := range 5 {
			for k := range 5 {
				p[i][j] += m[i][k] * o[k][j] * scale
			}
		}
	}
	return p
}
