package teeth

import (
	"fmt"
	"math"
	"strings"

	"armcurve/captures"
	"armcurve/captures/teeth/wheels"
)

// nameWheel says which wheel it is, or why that cannot be told.
func (r *run) nameWheel() {
	m, n := &r.m, &r.numberer
	if m.Polarity == Reversed {
		swapped := wheels.Recogniser{Stated: n.Stated, OnCam: n.OnCam}
		m.WheelWhy = "it does not show with the wires taken as swapped either"
		if p := swapped.Choose(wheels.Swinging(longestRun(r.swings[1].marks)), true); p != nil && !swapped.Differs && p.Repeats == 1 {
			m.Wheel, m.WheelWhy = p.Wheel, "found with the wires taken as swapped"
		}
		return
	}
	switch {
	case m.Signal == Unknown:
		m.WheelWhy = m.SignalWhy
	case n.Differs && !n.Even && m.Polarity != Normal:
		m.WheelWhy = fmt.Sprintf("it is not seen to be the stated %s, and which way round the wires are is not known", n.Stated)
	case n.Pattern == nil && n.Even:
		m.WheelWhy = "all teeth are evenly spaced"
	case n.Pattern == nil && n.Maybe != nil:
		m.WheelWhy = n.Doubt()
	case n.Pattern == nil && n.Stated.Known() && len(r.marks) <= n.Stated.TeethPresent():
		m.WheelWhy = fmt.Sprintf("%d teeth were seen, not a whole turn of the %s stated", len(r.marks), n.Stated)
	case n.Pattern == nil && wheels.Evenly(wheels.NewIntervals(longestRun(r.marks))):
		m.WheelWhy = "all teeth are evenly spaced: without a gap a wave does not tell how many there are"
	case n.Pattern == nil:
		m.WheelWhy = "the order of long and short intervals does not repeat often enough"
	case m.Signal == Reluctor && m.Polarity == Unknown && n.Pattern.Wheel.Gapped() && !n.Stated.Known():
		m.WheelWhy = fmt.Sprintf("gaps are seen, but not whether between teeth: %s", m.PolarityWhy)
	case m.Revolutions == 0:
		m.WheelWhy = "no whole revolution was seen"
	default:
		m.Wheel = n.Pattern.Wheel
		m.WheelWhy = fmt.Sprintf("%d whole revolutions, %s", m.Revolutions, r.unseen())
		if n.Pattern.Repeats > 1 {
			m.WheelWhy += fmt.Sprintf("; the wave itself repeats %d times in each", n.Pattern.Repeats)
		}
	}
}

func (r *run) find(kind string, severity captures.Severity, fromRPM, toRPM float64, text, advice string) {
	f := captures.Finding{Kind: kind, Severity: severity, Text: text, Advice: advice}
	if toRPM > 0 {
		f.FromRPM, f.ToRPM = captures.Finite(fromRPM), captures.Finite(toRPM)
	}
	r.m.Findings = append(r.m.Findings, f)
}

// causeFindings are those that leave no reading to be had.
func (r *run) causeFindings() {
	m := &r.m
	switch {
	case m.Signal == Square:
		r.find("not-a-reluctor", captures.Problem, 0, 0, "the signal is square: "+m.SignalWhy,
			"no arming threshold applies to a switching sensor or an output that is already conditioned; measure at the sensor's own wires")
	case m.Signal == Unknown:
		r.find("not-a-reluctor", captures.Problem, 0, 0, "no reluctor signal was recognised: "+m.SignalWhy,
			"check channel, leads and range, and record some revolutions")
	}
	if m.Polarity == Reversed {
		r.find("reversed-polarity", captures.Problem, 0, 0, "the wires are the wrong way round: "+m.PolarityWhy,
			"swap the sensor's two wires and check the base timing; on a wheel with slots instead of teeth, or with the instrument's leads swapped, it is the other way round")
	}
	if r.numberer.Differs && m.Signal != Unknown && (m.Polarity == Normal || r.showsNoGap()) {
		found := m.WheelWhy
		if m.Wheel.Known() {
			found = "it is " + m.Wheel.String()
		}
		r.find("wheel-differs", captures.Problem, 0, 0,
			fmt.Sprintf("the wave is not that of the stated wheel %s: %s", m.Stated, found), "state the wheel that is fitted")
	} else if !m.Wheel.Known() && m.Signal != Unknown && m.Polarity != Reversed {
		advice := "state the wheel, or record more revolutions"
		if r.numberer.Stated.Known() {
			advice = "record two whole turns or more, of the channel that shows this wheel"
		}
		r.find("wheel-unknown", captures.Problem, 0, 0, "the wheel cannot be told: "+m.WheelWhy, advice)
	} else if m.Wheel.Known() {
		r.assumedFinding()
	}
}

// camTeeth is the number of teeth up to which a wheel is as likely a cam's: a crank's
// has more, to tell the angle between them.
const camTeeth = 8

// assumedFinding tells where the wheel that was found, and with it the speeds, may be
// another: where several make such a wave, or it may be that of the cam, which turns
// at half the crank's speed.
func (r *run) assumedFinding() {
	m := &r.m
	isFew := m.Wheel.TeethPresent() <= camTeeth && m.Sensor == captures.Crank && !r.options.OnCam && !m.Stated.Known()
	text, advice := "", "state the wheel"
	if r.numberer.Maybe != nil {
		text = fmt.Sprintf("%s; %s was taken, and with it the speeds", r.numberer.Doubt(), m.Wheel)
	}
	if isFew {
		if text == "" {
			text = fmt.Sprintf("the wheel was taken to be the crank's, %s", m.Wheel)
		}
		text += "; with so few teeth it may be the cam's, and then the engine turns twice as fast as said"
		advice += ", or that the channel is the cam's"
	}
	if text != "" {
		r.find("wheel-assumed", captures.Warning, 0, 0, text, advice)
	}
}

// unseen says how many teeth the wave does not have, and with the confidence
// asked for at most has not: none of a few may still be one of many.
func (r *run) unseen() string {
	n, all := r.m.Unseen, r.m.Unseen+r.m.Teeth
	bound := fmt.Sprintf("%.3g", 1/atMost(n, all, r.options.Confidence))
	if strings.Contains(bound, "e") {
		bound = fmt.Sprintf("%.0f", 1/atMost(n, all, r.options.Confidence))
	}
	return fmt.Sprintf("%d of %d teeth are not in the wave (at most 1 in %s, with a confidence of %g %%)", n, all, bound, 100*r.options.Confidence)
}

// showsNoGap tells that neither the falls nor the rises show a gap.
func (r *run) showsNoGap() bool {
	return r.numberer.Even && r.m.Polarity == Unknown && wheels.NewIntervals(longestRun(r.swings[1].marks)).SurelyEven()
}

// What a spike has to exceed to be spoken of. A reading states smaller ones too: whatever
// they come of, nothing shows that there are none.
const (
	spikeSteps = 2    // of the instrument: one or two come of rounding
	spikePeaks = 0.03 // of the peak: kinks of the wave, between samples, leave nearly as much
)

// qualityFindings speak of how well the capture shows the signal.
func (r *run) qualityFindings() {
	m := &r.m
	pitches := float64(max(m.Wheel.Pitches, 1))
	if m.Wheel.Pitches == 0 {
		pitches = float64(m.Wheel.TeethPresent())
	}
	coarse, tooCoarse, clip, spike := rangeOf{}, rangeOf{}, rangeOf{}, rangeOf{}
	fewest, highestSpike := math.Inf(1), 0.0
	for _, reading := range m.Readings {
		perPitch := 60 / (reading.RPM * r.info.StepS * pitches)
		if r.options.OnCam {
			perPitch *= 2
		}
		fewest = min(fewest, perPitch)
		coarse.note(reading.RPM, perPitch < coarsePerPitch)
		tooCoarse.note(reading.RPM, perPitch < fewestPerPeak)
		clip.note(reading.RPM, reading.Clipped)
		spikeV := reading.SpikeV.Or(0)
		isTold := spikeV > max(3*reading.NoiseRMSV.Value, spikeSteps*r.w.step, spikePeaks*reading.PeakV.Or(0))
		if spike.note(reading.RPM, isTold); isTold {
			highestSpike = max(highestSpike, spikeV)
		}
	}
	if coarse.any {
		severity, advice := captures.Warning, "record with more samples per second"
		if tooCoarse.any {
			severity = captures.Problem
		}
		r.find("coarse-sampling", severity, coarse.low, coarse.high,
			fmt.Sprintf("down to %.1f samples per tooth, where 20 are wanted: peaks are read between samples", fewest), advice)
	}
	if clip.any {
		r.find("clipped", captures.Warning, clip.low, clip.high,
			fmt.Sprintf("the wave stands at the end of the range, %.4g V: peaks there are only lower limits", r.sign*r.w.top),
			"record with a wider range or a ×10 probe")
	}
	if spike.any {
		r.find("spikes", captures.Warning, spike.low, spike.high,
			fmt.Sprintf("short spikes up to %.3g V stand out of the noise", highestSpike),
			"look at shielding, earthing and the way of the wires past ignition leads")
	}
	if turns := r.numberer.Pattern.Foreign; turns > 0 {
		r.find("cross-talk", captures.Warning, 0, 0, foreignPulse[turns],
			"part this sensor's wires from the cam sensor's, or use screened ones, earthed at one end")
	}
	if n := m.Unseen; n > 0 {
		share := float64(n) / float64(m.Teeth+n)
		severity := captures.Warning
		if share > 0.01 {
			severity = captures.Problem
		}
		text := fmt.Sprintf("%s, the first after %.3f s", r.unseen(), r.gatherer.timeS(r.numberer.FirstUnseen))
		if r.numberer.IsGone {
			text += "; at the end it does not come again, and teeth are counted for as long as the wheel surely turned on"
		}
		r.find("dropout", severity, 0, 0, text,
			"look for a loose contact, or a sensor too far from the wheel")
	}
	if slope, lo, hi := r.gatherer.lowSlope(); slope > 1.2 {
		r.find("ac-coupled", captures.Warning, lo, hi,
			fmt.Sprintf("below %.0f rpm the amplitude falls as speed to the power of %.2f, faster than in proportion", hi, slope),
			"record with the input coupled to DC")
	}
}

// foreignPulse says what comes where the wheel has no tooth, by the turns that it comes in.
var foreignPulse = [...]string{
	1: "where teeth are missing a pulse comes in every turn, weaker or stronger than the teeth: it is none, but of what turns with the engine",
	2: "where the wheel has no tooth a pulse comes in every second turn: it is none, but of what turns with the camshaft",
}

// rangeOf is the range of speed over which something holds.
type rangeOf struct {
	low, high float64
	any       bool
}

func (r *rangeOf) note(rpm float64, holds bool) {
	if !holds {
		return
	}
	if !r.any {
		r.low, r.high, r.any = rpm, rpm, true
	}
	r.low, r.high = min(r.low, rpm), max(r.high, rpm)
}

// lowSlope is the power of speed that the amplitude follows over the lowest
// octave of speed, where a reluctor's is in proportion; 0 where too little of
// it was seen.
func (g *gatherer) lowSlope() (power, lowRPM, highRPM float64) {
	all := g.bins.measured()
	if len(all) < 4 {
		return 0, 0, 0
	}
	a := all[0]
	for _, b := range all[1:] {
		if b.rpmMean() < 1.6*a.rpmMean() {
			continue
		}
		if b.rpmMean() > 2.5*a.rpmMean() {
			return 0, 0, 0
		}
		return a.powerTo(b), a.rpmMean(), b.rpmMean()
	}
	return 0, 0, 0
}

// cellFindings speak of samples that were no numbers.
func (r *run) cellFindings() {
	if n := r.w.holes; n > 0 {
		severity := captures.Note
		if 1000*n > r.w.samples {
			severity = captures.Warning
		}
		r.find("bad-cells", severity, 0, 0, fmt.Sprintf("%d of %d samples hold no number; the one before was taken instead", n, r.w.samples), "")
	}
	if n := r.w.over; n > 0 && r.options.NoiseOnly {
		r.find("clipped", captures.Warning, 0, 0, fmt.Sprintf("%d of %d samples are beyond the instrument's range", n, r.w.samples), "record with a wider range")
	}
}
