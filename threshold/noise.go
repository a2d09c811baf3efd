package threshold

import (
	"math"
	"slices"

	"armcurve/captures"
)

// noiseAt is what was measured of the noise at one speed; readings that share
// a speed are joined, the larger value counting.
type noiseAt struct {
	rpm                                                   float64
	largestV, rmsV, rateHz, toneV, spikeV, humpV, peakSDV captures.Maybe
}

// noiseModel extends the measured noise to every speed.
type noiseModel struct {
	o     Options
	peakV func(rpm float64) float64 // the amplitude curve
	// Each list is by speed and holds those that measured the thing named.
	noises, gaussian, spiked, humps, spreads []noiseAt
}

// RiceLevel is the level that Gaussian noise of standard deviation rmsV and
// rateHz upward zero crossings per second passes upward once, on average, in
// exposureS seconds: σ·√(2 ln(f0·t)). S. O. Rice, Mathematical Analysis of
// Random Noise, Bell Syst. Tech. J. 23 (1944) and 24 (1945). 0 where not even
// one zero crossing is expected.
func RiceLevel(rmsV, rateHz, exposureS float64) float64 {
	crossings := rateHz * exposureS
	if crossings <= 1 {
		return 0
	}
	return rmsV * math.Sqrt(2*math.Log(crossings))
}

// RiceRate is the number of upward passages per second of a level by such
// noise: f0·exp(−T²/2σ²).
func RiceRate(levelV, rmsV, rateHz float64) float64 {
	if rmsV <= 0 {
		return 0
	}
	return rateHz * math.Exp(-levelV*levelV/(2*rmsV*rmsV))
}

// newNoiseModel sorts and joins what the readings say of the noise.
func newNoiseModel(readings []captures.Reading, o Options, peakV func(float64) float64) *noiseModel {
	m := &noiseModel{o: o, peakV: peakV}
	byRPM := slices.Clone(readings)
	slices.SortStableFunc(byRPM, func(a, b captures.Reading) int { return compareFloat(a.RPM, b.RPM) })
	for _, r := range byRPM {
		if r.HasNoise() {
			m.noises = join(m.noises, r)
		}
		for _, list := range []struct {
			into     *[]noiseAt
			measured captures.Maybe
		}{{&m.gaussian, r.NoiseRMSV}, {&m.spiked, r.SpikeV}, {&m.humps, r.HumpV}, {&m.spreads, r.PeakSDV}} {
			if list.measured.Known {
				*list.into = join(*list.into, r)
			}
		}
	}
	return m
}

func compareFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// join adds a reading to the list, into the last entry if that has its speed.
func join(list []noiseAt, r captures.Reading) []noiseAt {
	if n := len(list); n == 0 || list[n-1].rpm != r.RPM {
		list = append(list, noiseAt{rpm: r.RPM})
	}
	at := &list[len(list)-1]
	for _, f := range []struct {
		into *captures.Maybe
		from captures.Maybe
	}{
		{&at.largestV, r.NoiseV}, {&at.rmsV, r.NoiseRMSV}, {&at.rateHz, r.NoiseRateHz}, {&at.toneV, r.ToneV},
		{&at.spikeV, r.SpikeV}, {&at.humpV, r.HumpV}, {&at.peakSDV, r.PeakSDV},
	} {
		*f.into = larger(*f.into, f.from)
	}
	return list
}

func larger(a, b captures.Maybe) captures.Maybe {
	if !a.Known || b.Known && b.Value > a.Value {
		return b
	}
	return a
}

// known tells whether anything was measured of the noise.
func (m *noiseModel) known() bool { return len(m.noises) > 0 }

// highestRPM is the highest speed at which noise was measured.
func (m *noiseModel) highestRPM() float64 { return m.noises[len(m.noises)-1].rpm }

// exposureS is how long noise must not pass its ceiling at a speed.
func (m *noiseModel) exposureS(rpm float64) float64 {
	if rpm <= 1.5*m.o.CrankingRPM {
		return m.o.CrankingExposureS
	}
	return m.o.NoiseExposureS
}

// levelV is the noise part at one measured speed, for an exposure.
func (m *noiseModel) levelV(at noiseAt, exposureS float64) float64 {
	if at.rmsV.Known {
		gaussian := RiceLevel(at.rmsV.Value, at.rateHz.Or(m.o.NoiseRateHz), exposureS)
		return math.Max(at.toneV.Or(0)+gaussian, at.largestV.Or(0))
	}
	// A largest value alone cannot be extended to another exposure.
	return math.Max(at.toneV.Or(0), at.largestV.Or(0)*m.o.NoiseReach)
}

// growth is how a part goes on above the highest speed it was measured at.
type growth int

const (
	held      growth = iota
	bySlope          // along its last slope, never falling
	bySquares        // with the square of speed
)

// over gives a quantity at a speed from the list: linear between, held below.
func over(list []noiseAt, rpm float64, g growth, value func(noiseAt) float64) float64 {
	i, _ := slices.BinarySearchFunc(list, rpm, func(a noiseAt, rpm float64) int { return compareFloat(a.rpm, rpm) })
	switch {
	case len(list) == 0:
		return 0
	case i == 0:
		return value(list[0])
	case i < len(list):
		lo, hi := list[i-1], list[i]
		share := (rpm - lo.rpm) / (hi.rpm - lo.rpm)
		return value(lo) + share*(value(hi)-value(lo))
	}
	return beyond(list, rpm, g, value)
}

// beyond continues a quantity above the highest speed of the list. The slope
// is taken from the nearest speed at least a fifth lower, so that two readings
// side by side do not decide it.
func beyond(list []noiseAt, rpm float64, g growth, value func(noiseAt) float64) float64 {
	last := list[len(list)-1]
	v := value(last)
	switch {
	case g == bySquares && last.rpm > 0:
		return v * (rpm / last.rpm) * (rpm / last.rpm)
	case g == bySlope:
		for i := len(list) - 2; i >= 0; i-- {
			if list[i].rpm <= 0.8*last.rpm {
				slope := (v - value(list[i])) / (last.rpm - list[i].rpm)
				return v + math.Max(slope, 0)*(rpm-last.rpm)
			}
		}
	}
	return v
}

// partV is the noise part at a speed.
func (m *noiseModel) partV(rpm, exposureS float64) float64 {
	return over(m.noises, rpm, bySlope, func(at noiseAt) float64 { return m.levelV(at, exposureS) })
}

// rmsV and rateHz are the Gaussian part at a speed, 0 where it was not
// measured.
func (m *noiseModel) rmsV(rpm float64) float64 {
	return over(m.gaussian, rpm, bySlope, func(at noiseAt) float64 { return at.rmsV.Value })
}

func (m *noiseModel) rateHz(rpm float64) float64 {
	return over(m.gaussian, rpm, held, func(at noiseAt) float64 { return at.rateHz.Or(m.o.NoiseRateHz) })
}
