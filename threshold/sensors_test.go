package threshold

import (
	"math"
	"math/rand/v2"

	"armcurve/captures"
)

// invented is a sensor with readings and an input drawn at random.
type invented struct {
	readings []captures.Reading
	options  Options
}

// invent draws a sensor: a roll-off of any corner, three to nine speeds, much
// or little noise, steps from fine to so coarse that they hurt.
func invent(r *rand.Rand) invented {
	o := DefaultOptions()
	o.CrankingRPM = 150 + 150*r.Float64()
	o.CrankingLowRPM = (0.7 + 0.3*r.Float64()) * o.CrankingRPM
	o.CrankingRipple = captures.Some(0.5 * r.Float64())
	o.Input.StepV = math.Pow(10, -2.5+2*r.Float64())
	o.Input.BetweenRows = BetweenRows(r.IntN(4) / 3)
	o.Axis.Rows = 4 + r.IntN(13)
	if r.IntN(4) == 0 {
		o.Input.MinV, o.Input.MaxV = captures.Some(0.05*r.Float64()), captures.Some(0.5+5*r.Float64())
	}
	limitRPM := 4000 + 4000*r.Float64()
	o.LimitRPM = captures.Some(limitRPM)
	return invented{inventReadings(r, o.CrankingRPM, limitRPM), o}
}

func inventReadings(r *rand.Rand, crankingRPM, limitRPM float64) []captures.Reading {
	perRPM, cornerRPM := 0.0005*math.Pow(10, r.Float64()), 1000+9000*r.Float64()
	noiseV, growth := 0.02*math.Pow(10, 1.3*r.Float64())*perRPM*200, r.Float64()
	list := []captures.Reading{{NoiseV: captures.Some(noiseV)}}
	if r.IntN(10) == 0 {
		list = nil
	}
	count := 3 + r.IntN(7)
	lowRPM := crankingRPM
	if r.IntN(3) == 0 {
		lowRPM = 800
	}
	for i := range count {
		rpm := lowRPM * math.Pow(0.9*limitRPM/lowRPM, float64(i)/float64(count-1))
		peakV := perRPM * rpm / math.Hypot(1, rpm/cornerRPM) * math.Exp(0.03*r.NormFloat64())
		reading := captures.Reading{RPM: rpm, PeakV: captures.Some(peakV)}
		if list != nil {
			reading.NoiseV = captures.Some(noiseV * (1 + growth*rpm/500) * (0.8 + 0.4*r.Float64()))
		}
		if i == 0 {
			reading.WeakestV = captures.Some(peakV * (0.5 + 0.3*r.Float64()))
		}
		list = append(list, reading)
	}
	return list
}

func (i invented) sensor(t interface{ Fatal(...any) }) *Sensor {
	s, err := NewSensor(i.readings, i.options)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
