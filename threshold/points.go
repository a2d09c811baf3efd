package threshold

import (
	"cmp"
	"math"
	"slices"

	"armcurve/captures"
)

// sameSpeed is how close two speeds are to count as one: readings that close
// tell little more of the curve's shape than one of them.
const sameSpeed = 1.1

// points are the readings of a curve in logarithms, by rising speed. Readings
// that share a speed share its weight of 1.
type points struct {
	readings []captures.Reading
	speed    []speed
	lnV      []float64
	weight   []float64
	speeds   int // distinct ones
}

// newPoints takes the readings that have a peak to fit.
func newPoints(readings []captures.Reading) points {
	var p points
	for _, r := range readings {
		if r.PeakV.Known && r.PeakV.Value > 0 && r.RPM > 0 && !r.Clipped {
			p.readings = append(p.readings, r)
		}
	}
	slices.SortStableFunc(p.readings, bySpeed)
	p.weigh()
	return p
}

// bySpeed orders readings so that the order they came in changes nothing.
func bySpeed(a, b captures.Reading) int {
	return cmp.Or(
		cmp.Compare(a.RPM, b.RPM),
		cmp.Compare(a.PeakV.Value, b.PeakV.Value),
		cmp.Compare(a.WeakestV.Value, b.WeakestV.Value),
		cmp.Compare(a.NoiseV.Value, b.NoiseV.Value),
		cmp.Compare(a.NoiseRMSV.Value, b.NoiseRMSV.Value),
	)
}

func (p *points) weigh() {
	n := len(p.readings)
	p.speed, p.lnV, p.weight, p.speeds = make([]speed, n), make([]float64, n), make([]float64, n), 0
	for first := 0; first < n; {
		last := first
		for last+1 < n && p.readings[last+1].RPM <= sameSpeed*p.readings[first].RPM {
			last++
		}
		for i := first; i <= last; i++ {
			p.speed[i] = speedAt(p.readings[i].RPM)
			p.lnV[i] = math.Log(steadyPeakV(p.readings[i]))
			p.weight[i] = 1 / float64(last-first+1)
		}
		p.speeds++
		first = last + 1
	}
}

// steadyPeakV is the mean peak that a reading's teeth would have if the engine
// turned evenly. A mean over teeth is one over angle, the mean speed one over
// time, and so is the one that ripple is told by. Where a capture told how fast those
// teeth passed, that is known. Else: gas torque takes energy and gives it
// back by the crank's angle: where the energy swings as a cosine of it, the mean over
// angle is higher by 1/√(1 − r²), within 1.5 %. How the speed really swings it does not know.
func steadyPeakV(r captures.Reading) float64 {
	if r.PeakRPM.Known {
		return r.PeakV.Value * r.RPM / r.PeakRPM.Value
	}
	ripple := math.Min(r.Ripple.Or(0), maxRipple)
	return r.PeakV.Value * math.Sqrt(1-ripple*ripple)
}

// without returns the points but those marked.
func (p points) without(marked []bool) points {
	var rest points
	for i, r := range p.readings {
		if !marked[i] {
			rest.readings = append(rest.readings, r)
		}
	}
	rest.weigh()
	return rest
}

// from returns the points at a speed and above.
func (p points) from(rpm float64) points {
	marked := make([]bool, len(p.readings))
	for i, r := range p.readings {
		marked[i] = r.RPM < rpm
	}
	return p.without(marked)
}

func (p points) lowRPM() float64  { return p.readings[0].RPM }
func (p points) highRPM() float64 { return p.readings[len(p.readings)-1].RPM }
