package threshold

import "math"

// Names of the parts of a noise ceiling.
const (
	PartNoise   = "noise"
	PartSpikes  = "spikes"
	PartHump    = "hump"
	PartChatter = "chatter"
)

// ceiling is the level that noise is not expected to pass in the exposure, and
// the part that sets it.
type ceiling struct {
	v    float64
	part string
}

func (c ceiling) raise(v float64, part string) ceiling {
	if v > c.v {
		return ceiling{v, part}
	}
	return c
}

// ceilingAt is the noise ceiling at a speed; weakestV gives the weakest tooth,
// for the chatter at its crossing. Below the low end of cranking nothing turns
// steadily, so the larger of standstill and cranking counts there.
func (m *noiseModel) ceilingAt(rpm float64, weakestV func(float64) float64) ceiling {
	low := m.o.CrankingLowRPM
	if rpm >= low {
		return m.turning(rpm, weakestV)
	}
	c := m.turning(low, weakestV)
	standstill := m.still()
	return c.raise(standstill.v, standstill.part)
}

// still is the ceiling with the engine stopped: no tooth passes, so nothing
// follows from one.
func (m *noiseModel) still() ceiling {
	noiseV := m.partV(0, m.exposureS(0))
	return ceiling{noiseV, PartNoise}.raise(m.spikesV(0, noiseV), PartSpikes)
}

func (m *noiseModel) turning(rpm float64, weakestV func(float64) float64) ceiling {
	exposureS := m.exposureS(rpm)
	noiseV := m.partV(rpm, exposureS)
	c := ceiling{noiseV, PartNoise}
	c = c.raise(m.spikesV(rpm, noiseV), PartSpikes)
	c = c.raise(m.humpPartV(rpm, exposureS), PartHump)
	return c.raise(m.chatterV(rpm, weakestV(rpm), exposureS), PartChatter)
}

// spikesV is the largest spike and the noise it stands on. Spikes are coupled
// in by a current that grows with speed, so above the highest speed measured
// they are continued by its square.
func (m *noiseModel) spikesV(rpm, noiseV float64) float64 {
	if len(m.spiked) == 0 {
		return 0
	}
	return noiseV + over(m.spiked, rpm, bySquares, func(at noiseAt) float64 { return at.spikeV.Value })
}

// humpPartV is the hump inside a gap and the noise over the time that humps
// last: about a quarter of a pitch for each gap.
func (m *noiseModel) humpPartV(rpm, exposureS float64) float64 {
	ratio := m.humpRatio(rpm)
	if ratio == 0 {
		return 0
	}
	share := 0.25
	if pitches, gaps := m.o.Wheel.Pitches, len(m.o.Wheel.Missing); pitches > 0 && gaps > 0 {
		share = 0.25 * float64(gaps) / float64(pitches)
	}
	return ratio*m.peakV(rpm) + m.partV(rpm, exposureS*share)
}

// humpRatio is hump ÷ tooth peak: measured, else assumed on a wheel with a gap.
func (m *noiseModel) humpRatio(rpm float64) float64 {
	if len(m.humps) > 0 {
		return over(m.humps, rpm, held, func(at noiseAt) float64 {
			if at.rpm == 0 {
				return 0
			}
			return at.humpV.Value / m.peakV(at.rpm)
		})
	}
	if m.o.Wheel.Gapped() {
		return m.o.GapHump
	}
	return 0
}

// chatterV is the threshold below which noise on a tooth's slow fall through
// the rest level may fire early, arm again and fire twice. It is the largest T
// with
//
//	f_tooth·max(0, f0·T/(2π·f_tooth·A) − 1)·exp(−(T + h)²/4σ²)·exposure = 1,
//
// A the tooth's peak, h half the hysteresis, σ and f0 the noise: the number of
// crossings while the signal climbs from 0 to T, times the chance that the
// noise swings by T + h between two of them. An upper bound. 0 where even the
// most dangerous level does not reach it, or the wheel is not known.
func (m *noiseModel) chatterV(rpm, peakV, exposureS float64) float64 {
	toothHz := rpm / 60 * m.o.teethPerEngineTurn()
	sigmaV := m.rmsV(rpm)
	if toothHz <= 0 || sigmaV <= 0 || peakV <= 0 {
		return 0
	}
	perVolt := m.rateHz(rpm) / (2 * math.Pi * toothHz * peakV)
	lnExpected := func(tV float64) float64 {
		extra := perVolt*tV - 1
		if extra <= 0 {
			return math.Inf(-1)
		}
		swing := (tV + m.o.Input.HysteresisV/2) / (2 * sigmaV)
		return math.Log(toothHz*extra*exposureS) - swing*swing
	}
	return lastRoot(lnExpected, mostDangerousV(perVolt, sigmaV, m.o.Input.HysteresisV/2), sigmaV)
}

// mostDangerousV is where (p·T − 1)·exp(−(T+h)²/4σ²) is largest: the positive
// root of its derivative, p·2σ² = (p·T − 1)(T + h).
func mostDangerousV(perVolt, sigmaV, halfHysteresisV float64) float64 {
	b := perVolt*halfHysteresisV - 1
	c := -halfHysteresisV - 2*perVolt*sigmaV*sigmaV
	return (-b + math.Sqrt(b*b-4*perVolt*c)) / (2 * perVolt)
}

// lastRoot is where a function that falls from its top on passes zero; 0 where
// the top is not above zero.
func lastRoot(f func(float64) float64, top, step float64) float64 {
	if f(top) <= 0 {
		return 0
	}
	lo, hi := top, top+step
	for f(hi) > 0 {
		lo, hi = hi, hi+2*(hi-top)
	}
	for range 26 {
		mid := 0.5 * (lo + hi)
		if f(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
