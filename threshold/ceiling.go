package threshold

import "math"

// Names of the parts of a noise ceiling.
const (
	PartNoise   = "noise"
	PartSpikes  = "spikes"
	PartHump    = "hump"
	PartChatter = "chatter"
)

// NoisePart is one part of the noise ceiling.
type NoisePart struct {
	Name string // PartNoise, PartSpikes, PartHump or PartChatter
	V    float64
}

// parts are the parts of the noise ceiling at a speed, the level that noise is
// not expected to pass in the exposure: always all of them, in the same order.
type parts [4]NoisePart

// ceiling is the largest part.
func (p parts) ceiling() NoisePart {
	largest := p[0]
	for _, part := range p[1:] {
		if part.V > largest.V {
			largest = part
		}
	}
	return largest
}

// noiseParts are the parts of the noise ceiling at a speed with that amplitude
// and weakest tooth. Below the low end of cranking, whose amplitude and weakest
// tooth are wanted there, nothing turns steadily: what was measured there and at
// a standstill counts beside what cranking has.
func (s *Sensor) noiseParts(rpm, peakV, weakestV float64) parts {
	low := s.Options.CrankingLowRPM
	p := s.noise.turning(max(rpm, low), peakV, weakestV)
	if rpm >= low {
		return p
	}
	for _, at := range append([]float64{0}, s.readingsRPM...) {
		if at < low {
			noiseV := s.noise.partV(at, s.noise.exposureS(at))
			p[0].V = max(p[0].V, noiseV)
			p[1].V = max(p[1].V, s.noise.spikesV(at, noiseV))
		}
	}
	return p
}

// turning are the parts while the wheel turns.
func (m *noiseModel) turning(rpm, peakV, weakestV float64) parts {
	exposureS := m.exposureS(rpm)
	noiseV := m.partV(rpm, exposureS)
	return parts{
		{PartNoise, noiseV},
		{PartSpikes, m.spikesV(rpm, noiseV)},
		{PartHump, m.humpPartV(rpm, peakV, exposureS)},
		{PartChatter, m.chatterV(rpm, weakestV, exposureS)},
	}
}

// spikesV is the largest spike and the noise it stands on. Spikes are coupled
// in by a current that grows with speed: above the highest speed at which noise
// was watched they are continued by its square.
func (m *noiseModel) spikesV(rpm, noiseV float64) float64 {
	if len(m.spiked) == 0 {
		return 0
	}
	spikeV := over(m.spiked, rpm, held, func(at noiseAt) float64 { return at.spikeV.Value })
	if top := m.highestRPM(); top > 0 && rpm > top {
		spikeV *= (rpm / top) * (rpm / top)
	}
	return noiseV + spikeV
}

// humpPartV is the hump inside a gap and the noise over the time that humps
// last: about a quarter of a pitch for each gap.
func (m *noiseModel) humpPartV(rpm, peakV, exposureS float64) float64 {
	ratio := m.humpRatio(rpm)
	if ratio == 0 {
		return 0
	}
	share := 0.25
	if pitches, gaps := m.o.Wheel.Pitches, len(m.o.Wheel.Missing); pitches > 0 && gaps > 0 {
		share = 0.25 * float64(gaps) / float64(pitches)
	}
	return ratio*peakV + m.partV(rpm, exposureS*share)
}

// humpRatio is hump ÷ tooth peak: measured, else assumed on a wheel with a gap.
func (m *noiseModel) humpRatio(rpm float64) float64 {
	if len(m.humps) > 0 {
		return over(m.humps, rpm, held, func(at noiseAt) float64 { return at.humpRatio.Value })
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
//	f0·T/(2π·A)·exp(−(T + h)²/4σ²)·exposure = 1,
//
// A the tooth's peak, h half the hysteresis, σ and f0 the noise: the crossings
// of the noise in a second while the signal is between 0 and T, times the
// chance that the noise swings by T + h between two of them. How many teeth
// share that second does not matter. An upper bound; 0 where even the most
// dangerous level does not reach it.
func (m *noiseModel) chatterV(rpm, peakV, exposureS float64) float64 {
	sigmaV, rateHz := m.rmsV(rpm), m.rateHz(rpm)
	if sigmaV <= 0 || rateHz <= 0 {
		return 0
	}
	// A tooth that drowns in noise is as slow as need be.
	peakV = math.Max(peakV, sigmaV/1000)
	halfHysteresisV := m.o.Input.HysteresisV / 2
	lnExpected := func(tV float64) float64 {
		swing := (tV + halfHysteresisV) / (2 * sigmaV)
		return math.Log(rateHz*tV/(2*math.Pi*peakV)*exposureS) - swing*swing
	}
	return lastRoot(lnExpected, mostDangerousV(sigmaV, halfHysteresisV), sigmaV)
}

// mostDangerousV is where T·exp(−(T+h)²/4σ²) is largest: the positive root of
// its derivative, T² + h·T = 2σ².
func mostDangerousV(sigmaV, halfHysteresisV float64) float64 {
	h := halfHysteresisV
	return (math.Sqrt(h*h+8*sigmaV*sigmaV) - h) / 2
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
