package simulate

import (
	"fmt"
	"io"
	"math"

	"armcurve/captures"
)

// Source is a simulated capture, a captures.Source that makes its samples as
// they are asked for. It is not for use by several goroutines.
type Source struct {
	rig      Rig
	blockLen int
	total    int64
	next     int64
	perStep  int // steps of the coil in one sample
	stepS    float64
	motion   *motion
	channels []*channel
	onTooth  func(Tooth)
	crank    crankState // at the end of the last step
}

// crankState is the crank's angle and speed.
type crankState struct{ turns, turnsPerS float64 }

// defaultBlock is the number of samples in a block unless told otherwise.
const defaultBlock = 8192

// Open checks the rig and begins its capture. The error says what is wrong with
// the rig.
func Open(r Rig) (*Source, error) {
	if err := r.check(); err != nil {
		return nil, fmt.Errorf("rig %q: %w", r.Name, err)
	}
	r.Sensors = append([]Sensor(nil), r.Sensors...)
	s := &Source{
		rig: r, blockLen: defaultBlock, total: int64(math.Round(r.LengthS * r.SampleHz)),
		perStep: r.stepsPerSample(), motion: newMotion(r.Speed, r.Ripple),
		onTooth: func(Tooth) {},
	}
	s.stepS = 1 / (r.SampleHz * float64(s.perStep))
	for i := range r.Sensors {
		s.channels = append(s.channels, newChannel(&r, i, s.stepS, s.motion))
	}
	s.settle()
	return s, nil
}

// Watch has f called for every tooth of every sensor whose peak and fall through
// zero lie in the capture, in the order of time of each sensor, as Next passes
// them. It is to be set before the first Next.
func (s *Source) Watch(f func(Tooth)) {
	s.onTooth = func(t Tooth) {
		t.TimeS += s.rig.StartS
		f(t)
	}
}

// SetBlock changes the number of samples in a block, 1 or more.
func (s *Source) SetBlock(samples int) { s.blockLen = max(1, samples) }

// Info describes the capture.
func (s *Source) Info() captures.WaveInfo {
	info := captures.WaveInfo{
		File: s.rig.Name, StartS: s.rig.StartS, StepS: 1 / s.rig.SampleHz,
		ReadAs: fmt.Sprintf("simulated, %d samples at %g kHz", s.total, s.rig.SampleHz/1000),
	}
	for _, c := range s.channels {
		info.Channels = append(info.Channels, captures.Channel{Name: c.sensor.Name + "_v", Unit: "V"})
	}
	return info
}

// Findings has nothing to tell.
func (s *Source) Findings() []captures.Finding { return nil }

// Close does nothing.
func (s *Source) Close() error { return nil }

// Next makes the next samples; it fails only with io.EOF.
func (s *Source) Next(b *captures.Block) error {
	n := int(min(int64(s.blockLen), s.total-s.next))
	b.First = s.next
	if len(b.V) != len(s.channels) {
		b.V = make([][]float64, len(s.channels))
	}
	for i := range b.V {
		if cap(b.V[i]) < n {
			b.V[i] = make([]float64, n)
		}
		b.V[i] = b.V[i][:n]
	}
	if n == 0 {
		return io.EOF
	}
	for i := range n {
		s.sample(b.V, i)
	}
	return nil
}

// settle runs the coils in, up to the first sample.
func (s *Source) settle() {
	steps := s.rig.settleSteps(s.stepS)
	s.crank = s.crankAt(-float64(steps) * s.stepS)
	for _, c := range s.channels {
		c.emf = c.emfAt(s.crank)
		c.tracker.begin(c.sensor.wheelTurns(s.crank.turns))
	}
	for k := -steps; k < 0; k++ {
		s.step(float64(k+1) * s.stepS)
	}
}

func (s *Source) crankAt(atS float64) crankState {
	turns, turnsPerS := s.motion.at(atS)
	return crankState{turns + s.rig.StartDeg/360, turnsPerS}
}

// step moves every coil on by one step, to atS. Half-way the angle is the cubic
// that has the angles and speeds of both ends, which saves half of the motion.
func (s *Source) step(atS float64) {
	start, end := s.crank, s.crankAt(atS)
	middle := crankState{
		turns:     (start.turns+end.turns)/2 + s.stepS/8*(start.turnsPerS-end.turnsPerS),
		turnsPerS: 1.5*(end.turns-start.turns)/s.stepS - (start.turnsPerS+end.turnsPerS)/4,
	}
	for _, c := range s.channels {
		c.step(atS, s.stepS, middle, end, s.onTooth)
	}
	s.crank = end
}

// sample makes sample i of the block.
func (s *Source) sample(v [][]float64, i int) {
	atS := float64(s.next) / s.rig.SampleHz
	for k := range s.perStep {
		if s.next == 0 {
			break // settled there
		}
		s.step(atS - float64(s.perStep-1-k)*s.stepS)
	}
	s.next++
	for j, c := range s.channels {
		v[j][i] = c.recorder.record(c.disturb(atS, s.crank) + s.crossTalk(c))
	}
	for _, c := range s.channels {
		c.before = c.clean
	}
}

// crossTalk is what the other sensors' wires couple into this one.
func (s *Source) crossTalk(c *channel) float64 {
	if c.sensor.CrossS == 0 || s.next < 2 {
		return 0
	}
	rate := 0.0
	for _, other := range s.channels {
		if other != c {
			rate += other.clean - other.before
		}
	}
	return c.sensor.CrossS * rate * s.rig.SampleHz
}
