package threshold

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"armcurve/captures"
)

// Kinds of findings made here. The names are stable: programs read them.
const (
	FewReadings      = "few-readings"
	Outlier          = "outlier"
	UnitDoubt        = "unit-doubt"
	Contradictory    = "contradictory"
	Clipped          = "clipped"
	FallingAmplitude = "falling-amplitude"
	Extrapolated     = "extrapolated"
	NoiseUnknown     = "noise-unknown"
	WeakestUnknown   = "weakest-unknown"
	HeavyNoise       = "heavy-noise"
	CrankingRipple   = "cranking-ripple"
	NoWindow         = "no-window"
	ThinSignal       = "thin-signal"
	ThinNoise        = "thin-noise"
	AtLimit          = "threshold-limit"
	MeasureNext      = "measure-next"
)

// urgency is the order of findings of one severity: what changes the result
// most comes first.
var urgency = []string{
	UnitDoubt, Outlier, OtherWheel, NoCommonSpeed, NoWindow, NoiseUnknown, Contradictory, Clipped, ThinSignal, ThinNoise, AtLimit,
	FallsWithSpeed, RisesWithSpeed, WeakerSensor, StrongerSensor, NoChange, NoiseChanged, GapEstimate,
	HeavyNoise, MeasureNext, FewReadings, Extrapolated, FallingAmplitude, CrankingRipple, WeakestUnknown,
}

// SortFindings puts the worst first. Findings alike in rank keep their order.
func SortFindings(findings []captures.Finding) {
	rank := func(f captures.Finding) int {
		if i := slices.Index(urgency, f.Kind); i >= 0 {
			return i
		}
		return len(urgency)
	}
	slices.SortStableFunc(findings, func(a, b captures.Finding) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(rank(a), rank(b)))
	})
}

// readingFindings are what the readings say of themselves.
func (s *Sensor) readingFindings(all []captures.Reading, out []outlier) []captures.Finding {
	return slices.Concat(
		outlierFindings(out, s.Curve),
		contradictions(newPoints(all), s.Options.ReadingScatter),
		s.clippedFindings(),
		magnitudeFindings(s.points),
		s.growthFindings(),
		s.coverageFindings(),
		s.heavyNoiseFindings(all),
	)
}

func outlierFindings(out []outlier, c *Curve) []captures.Finding {
	var list []captures.Finding
	for _, o := range out {
		rpm := captures.Some(o.reading.RPM)
		left, severity := "left out of the curve", captures.Warning
		doubtful := slices.IndexFunc(c.doubts, func(d doubt) bool { return d.at == o.reading })
		if doubtful >= 0 {
			left += ", but the lower bound stays under it"
			severity = captures.Problem
		}
		list = append(list, captures.Finding{
			Kind: Outlier, Severity: severity, FromRPM: rpm, ToRPM: rpm,
			Text: fmt.Sprintf("%s reads %s V at %s rpm where the other readings say %s V; it is %s",
				o.reading.Pos, volts(o.reading.PeakV.Value), whole(o.reading.RPM), volts(o.curveV), left),
			Advice: "measure this speed again, and correct or delete the row",
		})
		if what, ok := o.slip(); ok {
			list = append(list, captures.Finding{
				Kind: UnitDoubt, Severity: severity, FromRPM: rpm, ToRPM: rpm,
				Text:   fmt.Sprintf("%s is %s times the curve, as by %s", o.reading.Pos, factor(o.ratio()), what),
				Advice: "check the probe setting and what was read off for this row",
			})
		}
		if doubtful >= 0 && c.doubts[doubtful].up {
			list = append(list, fallFinding(c.doubts[doubtful].lastGood, o.reading))
		}
	}
	return list
}

// contradiction is two readings at one speed that cannot both be right.
type contradiction struct {
	a, b  captures.Reading
	apart float64 // in ln V
}

// contradictions gives one finding, for one pair or for all: two sets of readings
// that contradict each other do so at every speed.
func contradictions(p points, scatter float64) []captures.Finding {
	var pairs []contradiction
	limit := outlierScatters * math.Sqrt2 * scatter
	for i := 1; i < len(p.readings); i++ {
		a, b := p.readings[i-1], p.readings[i]
		apart := math.Abs(p.lnV[i] - p.lnV[i-1] - math.Log(b.RPM/a.RPM))
		if atOneSpeed(a, b) && apart > limit {
			pairs = append(pairs, contradiction{a, b, apart})
		}
	}
	if len(pairs) == 0 {
		return nil
	}
	worst := slices.MaxFunc(pairs, func(x, y contradiction) int { return compareFloat(x.apart, y.apart) })
	found := captures.Finding{
		Kind: Contradictory, Severity: captures.Warning, FromRPM: captures.Some(pairs[0].a.RPM), ToRPM: captures.Some(pairs[len(pairs)-1].b.RPM),
		Text: fmt.Sprintf("%s and %s contradict each other: %s V and %s V at %s rpm",
			worst.a.Pos, worst.b.Pos, volts(worst.a.PeakV.Value), volts(worst.b.PeakV.Value), whole(worst.b.RPM)),
		Advice: "measure this speed once more and delete the wrong row; a loose plug or another probe setting also does this",
	}
	if len(pairs) > 1 {
		found.Text = fmt.Sprintf("readings contradict each other %d times %s, most of all %s and %s: %s V and %s V at %s rpm",
			len(pairs), speedRange(found.FromRPM.Value, found.ToRPM.Value),
			worst.a.Pos, worst.b.Pos, volts(worst.a.PeakV.Value), volts(worst.b.PeakV.Value), whole(worst.b.RPM))
		found.Advice = "measure one of these speeds once more and delete what is wrong: a loose plug, another probe setting or another gap makes a whole set differ; readings of two states belong in two files, or name their condition"
	}
	return []captures.Finding{found}
}

// Volts per rpm outside which a reluctor's signal is hard to believe: common
// practice, a crank sensor gives about 0.3 to 3 V at 200 rpm.
const (
	leastVPerRPM = 2e-5
	mostVPerRPM  = 0.1
)

// UnitDoubts tell of readings whose volts are hard to believe of a reluctor.
func UnitDoubts(readings []captures.Reading) []captures.Finding {
	return magnitudeFindings(newPoints(readings))
}

func magnitudeFindings(p points) []captures.Finding {
	if len(p.readings) == 0 {
		return nil
	}
	perRPM := p.readings[0].PeakV.Value / p.readings[0].RPM
	if perRPM >= leastVPerRPM && perRPM <= mostVPerRPM {
		return nil
	}
	r := p.readings[0]
	return []captures.Finding{{
		Kind: UnitDoubt, Severity: captures.Warning, FromRPM: captures.Some(r.RPM), ToRPM: captures.Some(p.highRPM()),
		Text:   fmt.Sprintf("%s V at %s rpm (%s) is hard to believe of a reluctor: volts, millivolts and the probe's factor are easily confused", volts(r.PeakV.Value), whole(r.RPM), r.Pos),
		Advice: "check the unit of the column and the probe setting: " + unitAdvice(r, perRPM < leastVPerRPM),
	}}
}

// unitAdvice names the slips that make a reading too small, or too large, and what
// undoes them.
func unitAdvice(r captures.Reading, tooSmall bool) string {
	unit := "a column of millivolts is called peak_mv"
	if tooSmall {
		unit = "only a column of millivolts ends in _mv"
	}
	if r.Pos.AtS.Known {
		unit = "--volts-unit states it"
	}
	if tooSmall {
		return unit + ", and a ×10 probe on a channel left at ×1 wants --volts-times 10"
	}
	return unit + ", and --volts-times is left out on a channel that already reckons with its probe"
}

// fallFinding tells of amplitude that falls from one reading to the next.
func fallFinding(a, b captures.Reading) captures.Finding {
	return captures.Finding{
		Kind: FallingAmplitude, Severity: captures.Warning, FromRPM: captures.Some(a.RPM), ToRPM: captures.Some(b.RPM),
		Text:   fmt.Sprintf("the amplitude falls from %s V at %s rpm to %s V at %s rpm (%s)", volts(a.PeakV.Value), whole(a.RPM), volts(b.PeakV.Value), whole(b.RPM), b.Pos),
		Advice: "look for a filter capacitor at the input, a loose sensor, or a clipped or misread peak; a table that climbs on will lose teeth there",
	}
}

// growthFindings tell of amplitude that falls with speed, or grows faster.
func (s *Sensor) growthFindings() []captures.Finding {
	p := s.points
	var list []captures.Finding
	limit := outlierScatters * s.Options.ReadingScatter
	for i := 1; i < len(p.readings); i++ {
		a, b := p.readings[i-1], p.readings[i]
		growth, speed := p.lnV[i]-p.lnV[i-1], math.Log(b.RPM/a.RPM)
		if speed < math.Log(sameSpeed) {
			continue
		}
		low, high := p.furthest(i-1, -1, -1), p.furthest(i, 1, 1)
		switch {
		case p.lnV[high]-p.lnV[low] < -limit:
			list = append(list, fallFinding(p.readings[low], p.readings[high]))
		case growth > speed+2*limit:
			list = append(list, captures.Finding{
				Kind: UnitDoubt, Severity: captures.Warning, FromRPM: captures.Some(a.RPM), ToRPM: captures.Some(b.RPM),
				Text: fmt.Sprintf("the peak grows %s times from %s rpm to %s rpm (%s), faster than speed: no coil does that without resonance",
					factor(math.Exp(growth)), whole(a.RPM), whole(b.RPM), b.Pos),
				Advice: "check both rows: probe setting, unit, peak-to-peak given as peak",
			})
		}
	}
	return list
}

// furthest is, of a reading and those at its speed beside it in a direction, the
// one with the highest peak for side 1, the lowest for −1.
func (p points) furthest(from, direction int, side float64) int {
	best := from
	for i := from; i >= 0 && i < len(p.readings) && atOneSpeed(p.readings[i], p.readings[from]); i += direction {
		if side*(p.lnV[i]-p.lnV[best]) > 0 {
			best = i
		}
	}
	return best
}

// atOneSpeed tells whether two readings contradict each other if their peaks
// differ.
func atOneSpeed(a, b captures.Reading) bool {
	return a.RPM <= 1.02*b.RPM && b.RPM <= 1.02*a.RPM
}

func (s *Sensor) coverageFindings() []captures.Finding {
	var list []captures.Finding
	c := s.Curve
	if c.Speeds < rankedSpeeds {
		list = append(list, captures.Finding{
			Kind: FewReadings, Severity: captures.Note, FromRPM: captures.Some(c.LowRPM), ToRPM: captures.Some(c.HighRPM),
			Text:   fmt.Sprintf("%d distinct speeds cannot tell how the curve bends; the bounds allow for that", c.Speeds),
			Advice: "measure two or more further speeds, spread by ratio rather than by difference",
		})
	}
	if !s.noise.known() {
		list = append(list, s.noiseUnknown())
	} else if top := s.noise.highestRPM(); top < s.LimitRPM/2 && top < c.HighRPM/lowestReach {
		list = append(list, captures.Finding{
			Kind: Extrapolated, Severity: captures.Note, FromRPM: captures.Some(top), ToRPM: captures.Some(s.LimitRPM),
			Text:   fmt.Sprintf("noise was last measured at %s rpm; above, it is continued along its slope", whole(top)),
			Advice: "note the largest excursion that is not a tooth at a high speed too: ignition and alternator are loudest there",
		})
	}
	if s.LimitRPM > c.HighRPM*1.05 {
		list = append(list, captures.Finding{
			Kind: Extrapolated, Severity: captures.Note, FromRPM: captures.Some(c.HighRPM), ToRPM: captures.Some(s.LimitRPM),
			Text:   fmt.Sprintf("above %s rpm the amplitude is extrapolated: the weakest tooth there is the lowest of every curve that fits", whole(c.HighRPM)) + c.clips.remark(),
			Advice: fmt.Sprintf("measure as near to %s rpm as is safe without load", whole(s.LimitRPM)),
		})
	}
	if !s.crankingMeasured {
		list = append(list, captures.Finding{
			Kind: Extrapolated, Severity: captures.Warning, FromRPM: captures.Some(0), ToRPM: captures.Some(s.unmeasuredBelowRPM),
			Text:   fmt.Sprintf("cranking was not measured: below %s rpm the amplitude is taken in proportion to speed", whole(s.unmeasuredBelowRPM)),
			Advice: fmt.Sprintf("measure the peak while cranking with injection and ignition disabled, and state the real cranking speed with --cranking-rpm (%s assumed)", crankingRange(s.Options)),
		})
	}
	if slices.Contains(s.Assumed, "cranking_ripple") && len(s.weakest.whileCranking) == 0 {
		list = append(list, captures.Finding{
			Kind: CrankingRipple, Severity: captures.Note, FromRPM: captures.Some(s.Options.CrankingLowRPM), ToRPM: captures.Some(3 * s.Options.CrankingRPM),
			Text:   fmt.Sprintf("how unevenly the engine cranks was not measured: at its slowest instant it is taken to turn %s %% slower than the mean", whole(100*s.ripple.at(s.Options.CrankingRPM))),
			Advice: "enter the lowest tooth peak while cranking as weakest_v, or the ripple",
		})
	}
	if slices.Contains(s.Assumed, "weakest_ratio") {
		list = append(list, captures.Finding{
			Kind: WeakestUnknown, Severity: captures.Note,
			Text:   fmt.Sprintf("the weakest tooth was not measured: taken as %s of the mean", factor(s.Options.WeakestRatio)),
			Advice: "at a steady speed note the lowest tooth peak of a whole turn as weakest_v",
		})
	}
	return list
}

func (s *Sensor) noiseUnknown() captures.Finding {
	next := ""
	if !s.crankingMeasured {
		next = fmt.Sprintf("; next measure a peak while cranking (about %s rpm)", whole(s.Options.CrankingRPM))
	} else if n, ok := s.nextSpeed(s.vaguestRPM()); ok {
		next = fmt.Sprintf("; next measure a peak near %s rpm", whole(n.RPM.Value))
	}
	return captures.Finding{
		Kind: NoiseUnknown, Severity: captures.Warning, FromRPM: captures.Some(0), ToRPM: captures.Some(s.LimitRPM),
		Text: fmt.Sprintf("noise was not measured, so nothing shows that the thresholds lie above it; while cranking they are wanted just under the weakest tooth (%s ×), as noise is the greater danger there", factor(min(s.Options.SignalCranking, atUnknownNoise))),
		Advice: "with the engine stopped and the ignition on, note the largest excursion on the arming side as noise_v at rpm 0; " +
			"then cranking, injection and ignition disabled, the largest between teeth at that speed" + next,
	}
}

func crankingRange(o Options) string {
	if o.CrankingLowRPM == o.CrankingRPM {
		return whole(o.CrankingRPM)
	}
	return whole(o.CrankingLowRPM) + " to " + whole(o.CrankingRPM)
}

// Numbers in sentences: three significant digits, trailing zeros dropped.
func volts(v float64) string      { return significant(v, 3) }
func factor(v float64) string     { return significant(v, 2) }
func hundredths(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }
func whole(v float64) string      { return strconv.FormatFloat(v, 'f', 0, 64) }

func significant(v float64, digits int) string {
	if v == 0 {
		return "0"
	}
	decimals := max(0, digits-1-int(math.Floor(math.Log10(math.Abs(v)))))
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}
