package teeth

import (
	"math"

	"armcurve/captures/teeth/lobes"
)

// nearInSpeed is how far, in the logarithm of speed, turns may be from others to tell the
// height of their teeth together.
const nearInSpeed = 0.1

// levelling is how much higher the teeth of a bin are than was told of them one by one, as
// all tell that passed at speeds near by; 1 where noise was not so strong that they were
// matched.
func levelling(all []*bin, i int) float64 {
	if all[i].lobes == nil {
		return 1
	}
	var near lobes.Sum
	for _, b := range all {
		if b.lobes != nil && math.Abs(math.Log(b.rpmMean()/all[i].rpmMean())) < nearInSpeed {
			near.Merge(b.lobes)
		}
	}
	return near.Ratio()
}

// levelLists does so with the peaks of single teeth and of turns.
func (r *run) levelLists() {
	all := r.gatherer.bins.sorted()
	ratios, isLevel := make([]float64, len(all)), true
	for i := range all {
		ratios[i] = levelling(all, i)
		isLevel = isLevel && ratios[i] == 1
	}
	if isLevel {
		return
	}
	ratioAt := func(rpm float64) float64 { return ratios[nearest(all, rpm)] }
	for i := range r.m.ToothList {
		t := &r.m.ToothList[i]
		t.PeakV *= ratioAt(t.RPM)
	}
	for i := range r.m.RevolutionList {
		v := &r.m.RevolutionList[i]
		v.PeakV.Value *= ratioAt(v.RPM)
		v.WeakestV.Value *= ratioAt(v.RPM)
	}
}

// nearest is the bin of the speed nearest to one.
func nearest(all []*bin, rpm float64) (at int) {
	for i, b := range all {
		if math.Abs(b.rpmMean()-rpm) < math.Abs(all[at].rpmMean()-rpm) {
			at = i
		}
	}
	return at
}
