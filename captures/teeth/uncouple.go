package teeth

import (
	"io"
	"math"

	"gonum.org/v1/gonum/mat"

	"armcurve/captures"
)

// Coupling is how much of the crank's wave another channel has: of its voltage, of its
// change over some samples, and of the change of that.
type Coupling struct {
	Share float64 // of the channel's variance that comes of it
	step  int
	gain  [coupled]float64
}

const (
	coupled     = 3
	stepsCopied = 16 // in a pitch of the crank at its fastest
)

// FitCoupling finds the coupling of least squares over a wave with the cam's channel and
// the crank's, which has been measured. The cam's own teeth are few, and no multiple of a
// pitch. ok is false where the crank does not turn. An error is one of the source.
func FitCoupling(source captures.Source, cam, crank int, of Measurement) (c Coupling, ok bool, err error) {
	pitch := of.shortestPitch()
	if !(pitch > 0) {
		return c, false, nil
	}
	c.step = max(1, int(pitch/stepsCopied))
	const n = coupled + 1 // and the rest level
	var left [n * n]float64
	var right [n]float64
	square := 0.0
	err = c.each(source, cam, crank, func(own float64, terms [coupled]float64) {
		x := [n]float64{terms[0], terms[1], terms[2], 1}
		for i := range x {
			for j := range x {
				left[i*n+j] += x[i] * x[j]
			}
			right[i] += x[i] * own
		}
		square += own * own
	})
	if err != nil {
		return c, false, err
	}
	var gain mat.VecDense
	if gain.SolveVec(mat.NewDense(n, n, left[:]), mat.NewVecDense(n, right[:])) != nil {
		return c, false, nil
	}
	const rest = n - 1
	level := right[rest] * right[rest] / left[n*n-1]
	explained := right[rest]*gain.AtVec(rest) - level
	for i := range c.gain {
		c.gain[i] = gain.AtVec(i)
		explained += right[i] * c.gain[i]
	}
	c.Share = explained / (square - level)
	return c, true, nil
}

// shortestPitch is that of the wheel at the highest speed read, samples.
func (m *Measurement) shortestPitch() float64 {
	highest := 0.0
	for _, r := range m.Readings {
		highest = max(highest, r.RPM)
	}
	return 60 / highest / float64(m.Wheel.Pitches) / m.Info.StepS
}

// each goes through the samples of a wave that have enough others on both sides.
func (c *Coupling) each(source captures.Source, own, other int, do func(own float64, terms [coupled]float64)) error {
	w := uncoupled{Source: source, coupling: *c, own: own, other: other}
	for {
		if err := w.fill(); err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
		for i := c.step; i+c.step < len(w.b); i++ {
			if terms := c.terms(w.b, i); isFinite(w.a[i]) && isFinite(terms[1]+terms[2]) {
				do(w.a[i], terms)
			}
		}
		w.keep()
	}
}

func isFinite(x float64) bool { return x-x == 0 }

func (c *Coupling) terms(v []float64, i int) [coupled]float64 {
	before, now, after := v[i-c.step], v[i], v[i+c.step]
	return [coupled]float64{now, (after - before) / 2, after - 2*now + before}
}

// Uncoupled is the cam's channel of a wave without what it has of the crank's.
func (c Coupling) Uncoupled(source captures.Source, cam, crank int) captures.Source {
	return &uncoupled{Source: source, coupling: c, own: cam, other: crank}
}

// uncoupled looks a step ahead in one channel, and back in the other.
type uncoupled struct {
	captures.Source
	coupling   Coupling
	own, other int
	block      captures.Block
	a, b       []float64 // of both channels: a step that is past, what is next, and a step ahead
	given      int64
	ended      bool
}

func (u *uncoupled) Info() captures.WaveInfo {
	info := u.Source.Info()
	info.Channels = info.Channels[u.own : u.own+1]
	return info
}

// fill takes the next block. The wave stands still before its beginning.
func (u *uncoupled) fill() error {
	if err := u.Source.Next(&u.block); err != nil {
		return err
	}
	a, b := u.block.V[u.own], u.block.V[u.other]
	if u.a == nil && len(a) > 0 {
		for range u.coupling.step {
			u.a, u.b = append(u.a, a[0]), append(u.b, b[0])
		}
	}
	u.a, u.b = append(u.a, a...), append(u.b, b...)
	return nil
}

// keep drops what is past.
func (u *uncoupled) keep() {
	if n := len(u.a) - 2*u.coupling.step; n > 0 {
		u.a, u.b = u.a[:copy(u.a, u.a[n:])], u.b[:copy(u.b, u.b[n:])]
	}
}

func (u *uncoupled) Next(to *captures.Block) error {
	step := u.coupling.step
	switch err := u.fill(); {
	case err == io.EOF && !u.ended && len(u.a) > step: // the wave stands still behind its end
		u.ended = true
		for last := len(u.a) - 1; step > 0; step-- {
			u.a, u.b = append(u.a, u.a[last]), append(u.b, u.b[last])
		}
	case err != nil:
		to.V = to.V[:0]
		return err
	}
	if len(to.V) != 1 {
		to.V = make([][]float64, 1)
	}
	to.First, to.V[0] = u.given, to.V[0][:0]
	step = u.coupling.step
	for i := step; i+step < len(u.a); i++ {
		to.V[0] = append(to.V[0], u.a[i]-u.coupling.of(u.b, i))
	}
	u.given += int64(len(to.V[0]))
	u.keep()
	return nil
}

// of is what comes of the crank's wave at a sample; nothing where that is lacking.
func (c *Coupling) of(v []float64, i int) float64 {
	sum := 0.0
	for k, x := range c.terms(v, i) {
		sum += c.gain[k] * x
	}
	if math.IsNaN(sum) || math.IsInf(sum, 0) {
		return 0
	}
	return sum
}
