package simulate

import "math/rand/v2"

// channel makes the samples of one sensor.
type channel struct {
	sensor   *Sensor
	atTurns  float64 // of the crank, at the wheel's place 0
	perCrank float64 // turns of the wheel in one of the crank
	curve    *curve
	circuit  *circuit
	tracker  *tracker
	emf      float64 // at the end of the last step
	clean    float64 // terminal voltage without trouble
	before   float64 // the same one sample earlier

	noise    []*noise
	sparks   []*sparks
	recorder *recorder
	dropout  int // the next that has not ended
}

func newChannel(r *Rig, index int, stepS float64, m *motion) *channel {
	sensor := &r.Sensors[index]
	c := &channel{
		sensor: sensor, circuit: newCircuit(sensor.Coil, stepS), recorder: newRecorder(sensor.Recorder, 1/r.SampleHz),
		tracker: newTracker(sensor, m, r.StartDeg), atTurns: sensor.AtDeg / 360, perCrank: sensor.perCrank(),
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

// disturb is the voltage on the wires at a sample: the sensor's own, if it is
// connected, with all that is added to it.
func (c *channel) disturb(atS float64, crank crankState) float64 {
	v := c.clean
	if c.sensor.upsideDown() {
		v = -v
	}
	v += c.sensor.SquareV / 2
	if c.lost(atS) {
		v = 0
	}
	rpm := 60 * crank.turnsPerS
	for _, n := range c.noise {
		v += n.next(atS, rpm)
	}
	for i := range c.sensor.Tones {
		v += c.sensor.Tones[i].at(atS, crank.turns, rpm)
	}
	for _, k := range c.sparks {
		v += k.at(crank.turns, crank.turnsPerS)
	}
	return v
}

func (c *channel) lost(atS float64) bool {
	for c.dropout < len(c.sensor.Dropouts) && atS >= c.sensor.Dropouts[c.dropout].UntilS {
		c.dropout++
	}
	return c.dropout < len(c.sensor.Dropouts) && atS >= c.sensor.Dropouts[c.dropout].FromS
}

// step moves the coil on by one step, to atS, through a crank angle half-way to
// one at the end.
func (c *channel) step(atS, stepS float64, middle, end crankState, onTooth func(Tooth)) {
	emf := c.emfAt(end)
	c.clean = c.circuit.step(c.emf, c.emfAt(middle), emf)
	c.emf = emf
	c.tracker.add(atS, stepS, c.clean, onTooth)
}

// emfAt is the electromotive force, or for a switching sensor its level about
// the middle: high between the teeth.
func (c *channel) emfAt(crank crankState) float64 {
	v := c.curve.at((crank.turns - c.atTurns) * c.perCrank)
	if c.sensor.SquareV > 0 {
		return c.sensor.SquareV * (0.5 - v)
	}
	return v * crank.turnsPerS * c.perCrank
}
