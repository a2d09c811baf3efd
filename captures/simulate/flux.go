package simulate

import "math"

// A tooth of width w at a distance x from the pole's middle, across an air gap
// g, adds to the flux a bump: the tooth's outline (1 over its width), averaged
// over the pole's width p and smoothed by the gap. In free space a component
// of wave number k dies away over the gap as exp(−k·g) (Laplace's equation), so
// the smoothing is a convolution with the Lorentzian (g/π)/(x² + g²), and the
// bump has a closed form. On a full wheel of pitch λ the bumps add up to
// harmonics of amplitude
//
//	2(w/λ)·sinc(h·w/λ)·sinc(h·p/λ)·exp(−2π·h·g/λ),   sinc(x) = sin(πx)/(πx)
//
// the fundamental losing 54.575 dB for each pitch of gap, the harmonics more.
// Missing teeth simply do not add their bump, which enlarges the lobes beside.

// All of this goes round the wheel: the Lorentzian there is the wrapped Cauchy
// distribution (Lévy 1939), which has a closed form as well.

// slope is the derivative, per turn of the wheel, of a bump of height 1 at a
// turn from its middle. All lengths are parts of the rim.
func slope(turn, tooth, pole, gap float64) float64 {
	sharpness := 1 / math.Tanh(math.Pi*gap)
	// The wrapped Cauchy distribution up to a turn.
	below := func(turn float64) float64 {
		whole := math.Round(turn)
		return whole + math.Atan(sharpness*math.Tan(math.Pi*(turn-whole)))/math.Pi
	}
	edge := func(turn float64) float64 { return (below(turn+pole/2) - below(turn-pole/2)) / pole }
	return edge(turn+tooth/2) - edge(turn-tooth/2)
}

// bump is something on the rim that adds to the flux.
type bump struct {
	atTurn  float64 // place on the wheel, 0 to below 1
	widthMM float64
	gapMM   float64
	share   float64 // of a whole tooth
}

// bumps lists the teeth, each at its own gap (run-out, shortness), and the
// humps in the gaps.
func (s *Sensor) bumps() []bump {
	var all []bump
	for i, place := range s.places() {
		gap := s.GapMM + s.RunOutMM*math.Cos(2*math.Pi*(place-s.RunOutDeg/360))
		for _, short := range s.Short {
			if short.Tooth == i+1 {
				gap += short.MM
			}
		}
		all = append(all, bump{atTurn: place, widthMM: s.toothMM(), gapMM: gap, share: 1})
	}
	if s.HumpShare > 0 {
		for _, middle := range s.gapMiddles() {
			all = append(all, bump{atTurn: middle, widthMM: s.toothMM(), gapMM: s.GapMM, share: s.HumpShare})
		}
	}
	return all
}

// curve is a periodic function of the wheel's turn, tabulated finely and drawn
// cubically between.
type curve struct {
	n float64
	v []float64 // v[1] stands at 0; one value before and two after the turn
}

// curvePoints gives a pitch of the finest usual wheel over 250 points.
const curvePoints = 1 << 14

func newCurve(f func(turn float64) float64) *curve {
	c := &curve{n: curvePoints, v: make([]float64, curvePoints+3)}
	for i := range curvePoints {
		c.v[i+1] = f(float64(i) / curvePoints)
	}
	c.v[0] = c.v[curvePoints]
	c.v[curvePoints+1], c.v[curvePoints+2] = c.v[1], c.v[2]
	return c
}

// at is the curve at a number of turns, whole turns not counting.
func (c *curve) at(turns float64) float64 {
	x := (turns - math.Floor(turns)) * c.n
	i := int(x)
	if i >= curvePoints { // a turn that rounds up to 1
		i = curvePoints - 1
	}
	x -= float64(i)
	p := c.v[i : i+4 : i+4]
	a := (p[3]-p[0])/2 + 1.5*(p[1]-p[2])
	b := p[0] - 2.5*p[1] + 2*p[2] - p[3]/2
	return p[1] + x*((p[2]-p[0])/2+x*(b+x*a))
}

// emfCurve is the electromotive force at one turn of the wheel per second, in
// volts: the turns times the flux's rate with the wheel's angle. An approaching
// tooth drives it positive, so that it falls through zero at the tooth's middle.
func (s *Sensor) emfCurve() *curve {
	bumps := s.bumps()
	alone := s.alone(bumps)
	return newCurve(func(turn float64) float64 {
		sum := 0.0
		for i, b := range bumps {
			sum += b.share * alone[i].at(turn-b.atTurn)
		}
		return s.LinkageVS * sum
	})
}

// alone gives for each bump the slope that it makes by itself, per turn; equal bumps share the work.
func (s *Sensor) alone(bumps []bump) []*curve {
	type kind struct{ widthMM, gapMM float64 }
	made := map[kind]*curve{}
	curves := make([]*curve, len(bumps))
	rimMM := math.Pi * s.DiameterMM
	for i, b := range bumps {
		k := kind{b.widthMM, b.gapMM}
		if made[k] == nil {
			made[k] = newCurve(func(turn float64) float64 {
				return slope(turn, b.widthMM/rimMM, s.poleMM()/rimMM, b.gapMM/rimMM)
			})
		}
		curves[i] = made[k]
	}
	return curves
}

// levelCurve is the state of a switching sensor, 1 in front of a tooth and 0
// between, with straight edges of a hundredth of the tooth.
func (s *Sensor) levelCurve() *curve {
	rimMM := math.Pi * s.DiameterMM
	places := s.places()
	half, edge := s.toothMM()/2, s.toothMM()/100
	return newCurve(func(turn float64) float64 {
		level := 0.0
		for _, place := range places {
			d := turn - place
			d = math.Abs(d-math.Round(d)) * rimMM
			level = max(level, min(1, 0.5+(half-d)/edge))
		}
		return level
	})
}
