package threshold

import (
	"math"
	"math/rand/v2"

	"armcurve/captures"
)

// engine is an invented engine with one sensor, for tables to be held against:
// nothing in it comes from the model that makes tables. Its wheel is a 36-1.
type engine struct {
	family   family
	perRPM   float64
	corner   float64
	form     float64
	scatter  float64 // of a reading
	teeth    []float64
	weakest  float64 // of teeth
	rippleAt float64 // at crankRPM; falls with speed to the power of fall
	fall     float64
	hump     float64 // in the gap, of the peak
	crankRPM float64
	limitRPM float64

	noise          noiseKind
	sigmaV         float64 // at a standstill; 0: quiet
	growth, power  float64 // of it over 1000 rpm
	knowsNoise     bool    // in figures, not only the largest
	knowsWeakest   bool
	highestReading float64
	r              *rand.Rand
}

const enginePitches = 36 // one of them missing

// newEngine draws a quiet engine of a family.
func newEngine(f family, r *rand.Rand) *engine {
	e := &engine{
		family: f, r: r, perRPM: 0.002 * math.Pow(4, r.Float64()), form: r.Float64(), scatter: 0.02 + 0.01*r.Float64(),
		rippleAt: 0.1 + 0.4*r.Float64(), fall: 1 + r.Float64(), hump: 0.12 * r.Float64(), crankRPM: 150 + 50*r.Float64(),
		growth: r.Float64(), power: 0.5 + r.Float64(), knowsNoise: r.IntN(3) > 0, knowsWeakest: r.IntN(3) > 0,
	}
	e.limitRPM = 5000 + 3000*r.Float64()
	e.highestReading = e.limitRPM * (0.6 + 0.4*r.Float64())
	e.corner = e.highestReading * math.Pow(5, 2*r.Float64()-1)
	e.drawTeeth()
	return e
}

// disturb gives the engine noise of a kind: at a standstill its largest is a
// twentieth to a half of what the weakest tooth has while cranking.
func (e *engine) disturb(k noiseKind) {
	e.noise = k
	largest := newNoiseStream(k, e.r).watch(1, 1).NoiseV.Value
	e.sigmaV = e.weakestV(e.crankRPM) * 0.05 * math.Pow(10, e.r.Float64()) / largest
}

// weakestV is what the weakest tooth has at the slowest instant of a turn.
func (e *engine) weakestV(rpm float64) float64 { return e.weakest * e.peakV(rpm*(1-e.ripple(rpm))) }

// drawTeeth gives the teeth run-out and one of them a flaw, no worse in all
// than the ratio assumed where nobody measures it.
func (e *engine) drawTeeth() {
	least := DefaultOptions().WeakestRatio
	if e.knowsWeakest {
		least = 0.7
	}
	flaw := (1 - least) * e.r.Float64()
	runOut, phase, short := flaw*e.r.Float64(), e.r.Float64(), e.r.IntN(enginePitches-1)
	sum := 0.0
	for i := range enginePitches - 1 {
		tooth := 1 + runOut/2*math.Sin(2*math.Pi*(phase+float64(i)/enginePitches))
		if i == short {
			tooth *= 1 - flaw + runOut
		}
		e.teeth = append(e.teeth, tooth)
		sum += tooth / (enginePitches - 1)
	}
	e.weakest = math.Inf(1)
	for i := range e.teeth {
		e.teeth[i] /= sum
		e.weakest = math.Min(e.weakest, e.teeth[i])
	}
}

func (e *engine) peakV(rpm float64) float64 { return e.perRPM * e.family.g(rpm, e.corner, e.form) }

func (e *engine) ripple(rpm float64) float64 {
	return e.rippleAt * math.Pow(e.crankRPM/math.Max(rpm, e.crankRPM), e.fall)
}

func (e *engine) noiseV(rpm float64) float64 {
	return e.sigmaV * (1 + e.growth*math.Pow(rpm/1000, e.power))
}

// readings are what a tuner notes at a standstill, cranking and n − 1 speeds.
func (e *engine) readings(n int) []captures.Reading {
	list := []captures.Reading{e.noiseReading(0)}
	for i := range n {
		rpm := math.Round(e.crankRPM * math.Pow(e.highestReading/e.crankRPM, float64(i)/float64(n-1)))
		reading := e.noiseReading(rpm)
		scope := math.Exp(e.scatter * e.r.NormFloat64())
		reading.PeakV = captures.Some(scope * e.peakV(rpm))
		if i == 0 || e.knowsWeakest {
			reading.WeakestV = captures.Some(scope * e.weakestV(rpm))
		}
		if i == 0 {
			reading.Ripple = captures.Some(e.ripple(rpm))
		}
		list = append(list, reading)
	}
	for i := range list {
		list[i].Pos = captures.Pos{File: "engine.csv", Line: i + 2}
	}
	return list
}

func (e *engine) noiseReading(rpm float64) captures.Reading {
	if e.sigmaV == 0 {
		return captures.Reading{RPM: rpm}
	}
	reading := newNoiseStream(e.noise, e.r).watch(e.noiseV(rpm), 0.5+0.5*e.r.Float64())
	if !e.knowsNoise {
		reading = captures.Reading{NoiseV: reading.NoiseV}
	}
	reading.RPM = rpm
	return reading
}

func (e *engine) options() Options {
	o := DefaultOptions()
	o.Wheel, _ = captures.ParseWheel("36-1")
	o.CrankingLowRPM, o.CrankingRPM = e.crankRPM, e.crankRPM
	o.LimitRPM = captures.Some(e.limitRPM)
	return o
}

// counted is what an input made of an engine's teeth.
type counted struct{ teeth, missed, unwanted int }

func (c *counted) add(more counted) {
	c.teeth += more.teeth
	c.missed += more.missed
	c.unwanted += more.unwanted
}

// run turns the engine steadily, sample by sample, before an input that arms
// above the threshold and counts at the fall through 0 V.
func (e *engine) run(rpm, thresholdV float64, turns int) counted {
	const sampleHz, perNoise = 4 * noiseHz, 4
	var c counted
	noise, sigmaV, ripple := newNoiseStream(e.noise, e.r), e.noiseV(rpm), e.ripple(rpm)
	from, to := noise.next(), noise.next()
	place, mean, heightV := 0.0, 0.0, 0.0 // place in pitches, mean in turns
	at, armed, done, before := -1, false, false, 0.0
	for i := 0; place < float64(turns*enginePitches); i++ {
		if i%perNoise == 0 {
			from, to = to, noise.next()
		}
		now := rpm * (1 - ripple*math.Cos(4*math.Pi*mean))
		pitch, x := math.Modf(place)
		if int(pitch) > at {
			if at >= 0 {
				c.pass(at, done)
			}
			at, done, heightV = int(pitch), false, e.heightV(int(pitch), now)
		}
		v := heightV*math.Sin(2*math.Pi*x) + sigmaV*(from+(to-from)*float64(i%perNoise)/perNoise)
		switch {
		case v > thresholdV:
			armed = true
		case armed && before > 0 && v <= 0:
			armed = false
			if own := isTooth(at) && math.Abs(x-0.5) <= 0.3; own && !done {
				done = true
			} else {
				c.unwanted++
			}
		}
		before = v
		place += now / 60 * enginePitches / sampleHz
		mean += rpm / 60 / sampleHz
	}
	c.pass(at, done)
	return c
}

func isTooth(pitch int) bool { return pitch%enginePitches < enginePitches-1 }

func (c *counted) pass(pitch int, done bool) {
	if !isTooth(pitch) {
		return
	}
	c.teeth++
	if !done {
		c.missed++
	}
}

// heightV is the peak of what passes at a pitch: a tooth, or the hump in the gap.
func (e *engine) heightV(pitch int, rpm float64) float64 {
	if !isTooth(pitch) {
		return e.hump * e.peakV(rpm)
	}
	return e.teeth[pitch%enginePitches] * e.peakV(rpm)
}
