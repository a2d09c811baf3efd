package threshold

import (
	"fmt"
	"math"
	"slices"

	"armcurve/captures"
)

// noiseAt is what was measured of the noise at one speed; readings that share
// a speed are joined, the larger value counting.
type noiseAt struct {
	rpm float64
	// largestV was seen beside a standard deviation, bareV without one, or with
	// one that does not account for it.
	largestV, bareV, rmsV, rateHz, toneV, spikeV, peakSDV captures.Maybe
	humpRatio                                             captures.Maybe // hump ÷ tooth peak
}

// noiseModel extends the measured noise to every speed.
type noiseModel struct {
	o     Options
	peakV func(rpm float64) float64 // the amplitude curve
	// Each list is by speed and holds those that measured the thing named.
	noises, gaussian, spiked, humps, spreads []noiseAt
	rateAssumed                              bool // for some standard deviation
	watched                                  int  // readings whose largest value is compared with what is to be expected
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
	m.watched = watched(readings)
	byRPM := slices.Clone(readings)
	slices.SortStableFunc(byRPM, func(a, b captures.Reading) int { return compareFloat(a.RPM, b.RPM) })
	for _, r := range byRPM {
		at := m.noiseAt(r)
		m.rateAssumed = m.rateAssumed || r.NoiseRMSV.Known && !r.NoiseRateHz.Known
		for _, list := range []struct {
			into     *[]noiseAt
			measured bool
		}{
			{&m.noises, r.NoiseV.Known || r.NoiseRMSV.Known || r.ToneV.Known},
			{&m.gaussian, at.rmsV.Known}, {&m.spiked, at.spikeV.Known}, {&m.humps, at.humpRatio.Known}, {&m.spreads, at.peakSDV.Known},
		} {
			if list.measured {
				*list.into = join(*list.into, at)
			}
		}
	}
	return m
}

func (m *noiseModel) noiseAt(r captures.Reading) noiseAt {
	at := noiseAt{rpm: r.RPM, bareV: r.NoiseV, rmsV: r.NoiseRMSV, toneV: r.ToneV, spikeV: r.SpikeV, peakSDV: r.PeakSDV}
	if r.NoiseRMSV.Known {
		at.rateHz = captures.Some(r.NoiseRateHz.Or(m.o.NoiseRateHz))
		at.largestV = r.NoiseV
		if !heavyTailed(r, at.rateHz.Value, m.watched) {
			at.bareV = captures.Maybe{}
		}
	}
	if r.HumpV.Known && r.RPM > 0 { // at rest no gap passes
		// The tooth read beside the hump shares its probe and its gap.
		peakV := m.peakV(r.RPM)
		if r.PeakV.Known && r.PeakV.Value > 0 && !r.Clipped {
			peakV = r.PeakV.Value
		}
		at.humpRatio = captures.Finite(r.HumpV.Value / peakV)
	}
	return at
}

// crestChance is how seldom Gaussian noise shows an excursion that large in any of
// the readings.
const crestChance = 0.01

// watched is the number of readings that tell how large noise was and how long it
// was watched: of many, the largest stands further out.
func watched(readings []captures.Reading) int {
	n := 0
	for _, r := range readings {
		if r.NoiseV.Known && r.NoiseRMSV.Known && r.NoiseRecordS.Known {
			n++
		}
	}
	return n
}

// heavyTailed tells that the largest excursion seen stands further out than
// that of Gaussian noise does in the time that it was watched, in one of so many
// readings. Rice's level says nothing of such noise: its largest value is then
// continued as a bare one.
func heavyTailed(r captures.Reading, rateHz float64, readings int) bool {
	if !r.NoiseV.Known || !r.NoiseRMSV.Known || !r.NoiseRecordS.Known {
		return false
	}
	return r.NoiseV.Value > r.ToneV.Or(0)+RiceLevel(r.NoiseRMSV.Value, rateHz, r.NoiseRecordS.Value*float64(readings)/crestChance)
}

// heavyNoiseFindings tell, of the reading where it is plainest, that noise is not
// Gaussian.
func (s *Sensor) heavyNoiseFindings(all []captures.Reading) []captures.Finding {
	var worst *captures.Reading
	n := watched(all)
	crest := func(r captures.Reading) float64 { return r.NoiseV.Value / r.NoiseRMSV.Value }
	for i, r := range all {
		if heavyTailed(r, r.NoiseRateHz.Or(s.Options.NoiseRateHz), n) && (worst == nil || crest(r) > crest(*worst)) {
			worst = &all[i]
		}
	}
	if worst == nil {
		return nil
	}
	return []captures.Finding{{
		Kind: HeavyNoise, Severity: captures.Note, FromRPM: captures.Some(worst.RPM), ToRPM: captures.Some(worst.RPM),
		Text: fmt.Sprintf("the largest noise of %s, %s V, is more than an rms of %s V makes in %s s: it comes in bursts or pulses, so it is reckoned to reach %s times the largest seen",
			worst.Pos, volts(worst.NoiseV.Value), volts(worst.NoiseRMSV.Value), factor(worst.NoiseRecordS.Value), factor(s.Options.NoiseReach)),
		Advice: "watch the noise for longer: pulses that come more seldom than every few seconds are not reckoned with until they are seen",
	}}
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

// join adds what was measured to the list, into the last entry if that has its
// speed.
func join(list []noiseAt, more noiseAt) []noiseAt {
	if n := len(list); n == 0 || list[n-1].rpm != more.rpm {
		return append(list, more)
	}
	at := &list[len(list)-1]
	for _, f := range []struct {
		into *captures.Maybe
		from captures.Maybe
	}{
		{&at.largestV, more.largestV}, {&at.bareV, more.bareV}, {&at.rmsV, more.rmsV}, {&at.rateHz, more.rateHz},
		{&at.toneV, more.toneV}, {&at.spikeV, more.spikeV}, {&at.humpRatio, more.humpRatio}, {&at.peakSDV, more.peakSDV},
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
func (m *noiseModel) known() bool { return len(m.noises)+len(m.spiked) > 0 }

// highestRPM is the highest speed at which noise was measured.
func (m *noiseModel) highestRPM() float64 {
	highest := 0.0
	for _, list := range [][]noiseAt{m.noises, m.spiked} {
		if n := len(list); n > 0 {
			highest = max(highest, list[n-1].rpm)
		}
	}
	return highest
}

// exposureS is how long noise must not pass its ceiling at a speed.
func (m *noiseModel) exposureS(rpm float64) float64 {
	if rpm <= 1.5*m.o.CrankingRPM {
		return m.o.CrankingExposureS
	}
	return m.o.NoiseExposureS
}

// levelV is the noise part at one measured speed, for an exposure. A largest
// value alone cannot be extended to another exposure.
func (m *noiseModel) levelV(at noiseAt, exposureS float64) float64 {
	gaussian := RiceLevel(at.rmsV.Or(0), at.rateHz.Or(m.o.NoiseRateHz), exposureS)
	return max(at.toneV.Or(0)+gaussian, at.largestV.Or(0), at.bareV.Or(0)*m.o.NoiseReach)
}

// growth is how a part goes on above the highest speed it was measured at.
type growth int

const (
	held    growth = iota
	bySlope        // along its last slope, never falling
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
	if g == held {
		return v
	}
	for _, at := range slices.Backward(list[:len(list)-1]) {
		if at.rpm <= 0.8*last.rpm {
			slope := (v - value(at)) / (last.rpm - at.rpm)
			return v + math.Max(slope, 0)*(rpm-last.rpm)
		}
	}
	return v
}

// partV is the noise part at a speed.
func (m *noiseModel) partV(rpm, exposureS float64) float64 {
	return over(m.noises, rpm, bySlope, func(at noiseAt) float64 { return m.levelV(at, exposureS) })
}

// rmsV and rateHz are the Gaussian part at a speed, 0 where it was not
// measured. Where other noise was measured at higher speeds it is held up to
// there: its slope would make a larger rms at a low speed a smaller one above.
func (m *noiseModel) rmsV(rpm float64) float64 {
	g := bySlope
	if n := len(m.gaussian); n > 0 && m.gaussian[n-1].rpm < m.highestRPM() {
		g = held
	}
	return over(m.gaussian, rpm, g, func(at noiseAt) float64 { return at.rmsV.Value })
}

func (m *noiseModel) rateHz(rpm float64) float64 {
	return over(m.gaussian, rpm, held, func(at noiseAt) float64 { return at.rateHz.Value })
}
