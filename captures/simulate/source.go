package simulate

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"armcurve/captures"
)

// Source is a simulated capture, a captures.Source that makes its samples as
// they are asked for. It is not for use by several goroutines.
type Source struct {
	rig              Rig
	blockLen         int
	total            int64
	next             int64
	perStep          int // steps of the coil in one sample
	stepS            float64
	motion           *motion
	channels         []*channel
	turns, turnsPerS float64 // of the crank at the end of the last step
	onTooth          func(Tooth)
}

// channel makes the samples of one sensor.
type channel struct {
	sensor  *Sensor
	curve   *curve
	circuit *circuit
	tracker *tracker
	emf     float64 // at the end of the last step
	clean   float64 // terminal voltage without trouble
	before  float64 // the same one sample earlier

	noise    []*noise
	sparks   []*sparks
	recorder *recorder
	dropout  int // the next that has not ended
}

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

func newChannel(r *Rig, index int, stepS float64, m *motion) *channel {
	sensor := &r.Sensors[index]
	c := &channel{
		sensor: sensor, circuit: newCircuit(sensor.Coil, stepS), recorder: newRecorder(sensor.Recorder, 1/r.SampleHz),
		tracker: newTracker(sensor, m, r.StartDeg),
	}
	if sensor.SquareV > 0 {
		c.curve, c.circuit = sensor.levelCurve(), newCircuit(Coil{}, stepS)
	} else {
		c.curve = sensor.emfCurve()
	}
	// Every drawing part has its own stream, so that adding one changes no other.
	stream := uint64(index) << 32
	random := func() *rand.Rand {
		stream++
		return rand.New(rand.NewPCG(r.Seed, stream))
	}
	for _, n := range sensor.Noise {
		c.noise = append(c.noise, newNoise(n, r.SampleHz, random()))
	}
	stream = uint64(index)<<32 | 1<<16
	for _, k := range sensor.Sparks {
		c.sparks = append(c.sparks, newSparks(k, 1/r.SampleHz, random()))
	}
	return c
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
	from := -float64(steps) * s.stepS
	turns, turnsPerS := s.motion.at(from)
	s.turns, s.turnsPerS = turns+s.rig.StartDeg/360, turnsPerS
	for _, c := range s.channels {
		wheel := c.sensor.wheelTurns(s.turns)
		c.emf = c.emfAt(wheel, turnsPerS)
		c.tracker.begin(wheel)
	}
	for k := -steps; k < 0; k++ {
		s.step(float64(k+1) * s.stepS)
	}
}

// step moves every coil on by one step, to atS. Half-way the angle is the cubic
// that has the angles and speeds of both ends, which saves half of the motion.
func (s *Source) step(atS float64) {
	turns, speed := s.motion.at(atS)
	turns += s.rig.StartDeg / 360
	midTurns := (s.turns+turns)/2 + s.stepS/8*(s.turnsPerS-speed)
	midSpeed := 1.5*(turns-s.turns)/s.stepS - (s.turnsPerS+speed)/4
	s.turns, s.turnsPerS = turns, speed
	for _, c := range s.channels {
		mid := c.emfAt(c.sensor.wheelTurns(midTurns), midSpeed)
		end := c.emfAt(c.sensor.wheelTurns(turns), speed)
		c.clean = c.circuit.step(c.emf, mid, end)
		c.emf = end
		c.tracker.add(atS, s.stepS, c.clean, s.onTooth)
	}
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
		v[j][i] = c.recorder.record(c.disturb(atS, s.turns, s.turnsPerS) + s.crossTalk(c))
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

// disturb is the voltage on the wires at a sample: the sensor's own, if it is
// connected, with all that is added to it.
func (c *channel) disturb(atS, turns, turnsPerS float64) float64 {
	v := c.clean
	if c.sensor.upsideDown() {
		v = -v
	}
	v += c.sensor.SquareV / 2
	if c.lost(atS) {
		v = 0
	}
	rpm := 60 * turnsPerS
	for _, n := range c.noise {
		v += n.next(atS, rpm)
	}
	for i := range c.sensor.Tones {
		v += c.sensor.Tones[i].at(atS, turns, rpm)
	}
	for _, k := range c.sparks {
		v += k.at(turns, turnsPerS)
	}
	return v
}

func (c *channel) lost(atS float64) bool {
	for c.dropout < len(c.sensor.Dropouts) && atS >= c.sensor.Dropouts[c.dropout].UntilS {
		c.dropout++
	}
	return c.dropout < len(c.sensor.Dropouts) && atS >= c.sensor.Dropouts[c.dropout].FromS
}

// emfAt is the electromotive force at a wheel angle, or for a switching sensor
// its level about the middle: high between the teeth.
func (c *channel) emfAt(wheelTurns, crankTurnsPerS float64) float64 {
	if c.sensor.SquareV > 0 {
		return c.sensor.SquareV * (0.5 - c.curve.at(wheelTurns))
	}
	return c.curve.at(wheelTurns) * crankTurnsPerS * c.sensor.perCrank()
}

// wheelTurns turns a crank angle into the wheel's, both in turns.
func (s *Sensor) wheelTurns(crankTurns float64) float64 {
	return (crankTurns - s.AtDeg/360) * s.perCrank()
}
