package threshold

import (
	"fmt"
	"math"
	"slices"

	"armcurve/captures"
)

// Ratio is amplitude after ÷ before, with its two-sided bounds.
type Ratio struct {
	RPM              float64 // 0 for the ratio over all speeds
	Value, Low, High float64
}

// Comparison is what changed between two sets of readings of one sensor.
type Comparison struct {
	Before, After *Sensor
	// Overall is the ratio over the speeds both sets cover; at the nearest
	// speeds where they do not overlap.
	Overall Ratio
	Samples []Ratio // by speed
	// Slope is the change of ln ratio per ln speed, SlopeBound how far a slope
	// by chance may be from 0 at the stated confidence.
	Slope, SlopeBound float64
	// FallsWithSpeed tells that the ratio falls with speed by more than chance
	// and enough to matter: a load or a filter, not a gap.
	FallsWithSpeed bool
	// RisesWithSpeed tells that it rises in the same sense.
	RisesWithSpeed bool
	// GapChangeMM is the change of air gap that would explain a uniform ratio
	// with the same sensor; unknown unless asked for.
	GapChangeMM captures.Maybe
	// Check judges the old table on the new readings, Rescaled the old table
	// times the ratio; nil without a table.
	Check, Rescaled *Result
	Findings        []captures.Finding
}

// CompareOptions are what a comparison may use beyond the readings.
type CompareOptions struct {
	Table *Table
	// SameSensor allows a change of amplitude to be read as a change of gap;
	// it needs the wheel's diameter.
	SameSensor bool
	DiameterMM captures.Maybe
	// WheelBefore is the wheel before the change, where it was another; the zero
	// Wheel for the same.
	WheelBefore captures.Wheel
}

// Kinds of findings of a comparison.
const (
	WeakerSensor   = "weaker-sensor"
	StrongerSensor = "stronger-sensor"
	FallsWithSpeed = "falls-with-speed"
	RisesWithSpeed = "rises-with-speed"
	NoiseChanged   = "noise-changed"
	NoChange       = "no-change"
	GapEstimate    = "gap-estimate"
	OtherWheel     = "other-wheel"
	NoCommonSpeed  = "no-common-speed"
)

// comparedSpeeds is how many speeds the ratio is given at.
const comparedSpeeds = 9

// Compare fits both sets of readings and tells what changed.
func Compare(before, after []captures.Reading, o Options, co CompareOptions) (Comparison, error) {
	var c Comparison
	var err error
	was := o
	if co.WheelBefore.Known() {
		was.Wheel = co.WheelBefore
	}
	if c.Before, err = NewSensor(before, was); err != nil {
		return c, fmt.Errorf("before: %w", err)
	}
	if c.After, err = NewSensor(after, o); err != nil {
		return c, fmt.Errorf("after: %w", err)
	}
	c.ratios()
	c.gapChange(co)
	if co.Table != nil {
		c.tables(*co.Table)
	}
	c.Findings = c.findings()
	return c, nil
}

// ratios fills the ratio by speed, over all, and its slope.
func (c *Comparison) ratios() {
	low := math.Max(c.Before.Curve.LowRPM, c.After.Curve.LowRPM)
	high := math.Min(c.Before.Curve.HighRPM, c.After.Curve.HighRPM)
	if low > high {
		low, high = high, low
	}
	speeds := comparedSpeeds
	if low == high {
		speeds = 1
	}
	sum, below, above := 0.0, 0.0, 0.0
	for i := range speeds {
		rpm := low * math.Pow(high/low, float64(i)/(comparedSpeeds-1))
		r := c.at(rpm)
		c.Samples = append(c.Samples, r)
		sum += math.Log(r.Value) / float64(speeds)
		below += math.Log(r.Value/r.Low) / float64(speeds)
		above += math.Log(r.High/r.Value) / float64(speeds)
	}
	c.Overall = Ratio{0, math.Exp(sum), math.Exp(sum - below), math.Exp(sum + above)}
	c.slope()
}

// at is the ratio of the two curves at a speed. Its bounds are those of the
// curves where they were measured, beyond that those of one further reading,
// which every curve still possible widens.
func (c *Comparison) at(rpm float64) Ratio {
	b, a := c.Before.Curve, c.After.Curve
	n := speedAt(rpm)
	ln := a.lnAt(n) - b.lnAt(n)
	aBelow, aAbove := a.uncertainty(n)
	bBelow, bAbove := b.uncertainty(n)
	return Ratio{rpm, math.Exp(ln), math.Exp(ln - math.Hypot(aBelow, bAbove)), math.Exp(ln + math.Hypot(aAbove, bBelow))}
}

// uncertainty is how far below and above the curve the amplitude may be, in ln V.
func (c *Curve) uncertainty(n speed) (below, above float64) {
	if n.rpm >= c.LowRPM && n.rpm <= c.HighRPM {
		spread := c.bound * math.Sqrt(c.leverage(n))
		return spread, spread
	}
	e := c.At(n.rpm)
	return math.Log(e.V / e.LowV), math.Log(e.HighV / e.V)
}

// leastSlope is the change over the compared speeds, in ln ratio, that is
// enough to matter: 10 %.
const leastSlope = 0.1

// slope compares the trends of the readings about one common shape, so that
// two fits of different shapes cannot make a slope of their own: the straight
// line of ln(after ÷ before's curve) on ln speed, and how much of a slope the
// scatter of both sets allows.
func (c *Comparison) slope() {
	low, high := c.Samples[0].RPM, c.Samples[len(c.Samples)-1].RPM
	if high < 1.5*low {
		return
	}
	after, before := c.After.residualsTo(c.Before.Curve), c.Before.residualsTo(c.Before.Curve)
	if after.width == 0 || before.width == 0 {
		return // one speed in common has no slope
	}
	c.Slope = after.slope - before.slope
	b, a := c.Before.Curve.bound, c.After.Curve.bound
	c.SlopeBound = math.Hypot(b/before.width, a/after.width)
	change := c.Slope * math.Log(high/low)
	c.FallsWithSpeed = c.Slope < -c.SlopeBound && change < -leastSlope
	c.RisesWithSpeed = c.Slope > c.SlopeBound && change > leastSlope
}

// trend is a straight line through residuals: its slope, and √Σ(x − mean)².
type trend struct{ slope, width float64 }

// residualsTo is the trend of the sensor's readings over another curve, at the
// speeds that curve was measured at.
func (s *Sensor) residualsTo(other *Curve) trend {
	var x, y []float64
	for i, r := range s.points.readings {
		if r.RPM >= other.LowRPM/sameSpeed && r.RPM <= other.HighRPM*sameSpeed {
			n := s.points.speed[i]
			x = append(x, n.ln)
			y = append(y, s.points.lnV[i]-other.lnAt(n))
		}
	}
	meanX, meanY := mean(x), mean(y)
	sxx, sxy := 0.0, 0.0
	for i := range x {
		sxx += (x[i] - meanX) * (x[i] - meanX)
		sxy += (x[i] - meanX) * (y[i] - meanY)
	}
	if sxx == 0 {
		return trend{}
	}
	return trend{sxy / sxx, math.Sqrt(sxx)}
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// gapChange turns a uniform ratio into millimetres. The fundamental of a
// toothed wheel's field decays with the gap g as exp(−2πg/λ), λ the pitch at
// the rim: 54.6 dB per pitch (R. L. Wallace, Bell Syst. Tech. J. 30 (1951)
// 1145, for a recorded medium; for a rack of teeth the same follows from
// Laplace's equation).
func (c *Comparison) gapChange(co CompareOptions) {
	pitches := c.After.Options.Wheel.Pitches
	if !co.SameSensor || !co.DiameterMM.Known || pitches == 0 || c.FallsWithSpeed || c.RisesWithSpeed {
		return
	}
	pitchMM := math.Pi * co.DiameterMM.Value / float64(pitches)
	c.GapChangeMM = captures.Some(-math.Log(c.Overall.Value) * pitchMM / (2 * math.Pi))
}

// tables judges the old table on the new readings, and the old table scaled
// with the amplitude.
func (c *Comparison) tables(old Table) {
	check := c.After.Check(old)
	c.Check = &check
	rescaled := Table{BetweenRows: old.BetweenRows}
	steps := c.After.Options.Input.steps()
	for _, row := range old.Rows {
		if row.ThresholdV.Known {
			ratio := c.at(math.Max(row.RPM, c.Samples[0].RPM)).Value
			below, above := steps.around(row.ThresholdV.Value * ratio)
			k := below
			if wantV := row.ThresholdV.Value * ratio; steps.volts(above)-wantV < wantV-steps.volts(below) {
				k = above
			}
			row.ThresholdV = captures.Some(steps.volts(k))
		}
		rescaled.Rows = append(rescaled.Rows, row)
	}
	judged := c.After.Check(rescaled)
	c.Rescaled = &judged
}

func (c *Comparison) findings() []captures.Finding {
	var list []captures.Finding
	low, high := captures.Some(c.Samples[0].RPM), captures.Some(c.Samples[len(c.Samples)-1].RPM)
	add := func(kind string, severity captures.Severity, text, advice string) {
		list = append(list, captures.Finding{Kind: kind, Severity: severity, FromRPM: low, ToRPM: high, Text: text, Advice: advice})
	}
	first, last := c.Samples[0], c.Samples[len(c.Samples)-1]
	by := fmt.Sprintf("%s × at %s rpm, %s × at %s rpm", hundredths(first.Value), whole(first.RPM), hundredths(last.Value), whole(last.RPM))
	switch {
	case c.FallsWithSpeed:
		add(FallsWithSpeed, captures.Warning, "the ratio falls with speed: "+by,
			"look for a heavier load or a filter at the input, or a coil of higher inductance; a gap or a weaker magnet would change every speed alike")
	case c.RisesWithSpeed:
		add(RisesWithSpeed, captures.Note, "the ratio rises with speed: "+by,
			"a lighter load, a removed filter or a coil of lower inductance does this; check the upper rows of the table for noise")
	case c.Overall.High < 1:
		add(WeakerSensor, captures.Warning, fmt.Sprintf("the signal is weaker at every speed alike: %s × (%s to %s)", hundredths(c.Overall.Value), hundredths(c.Overall.Low), hundredths(c.Overall.High)),
			"a larger gap or another sensor does this, and readings cannot tell which; check the gap first")
	case c.Overall.Low > 1:
		add(StrongerSensor, captures.Note, fmt.Sprintf("the signal is stronger at every speed alike: %s × (%s to %s)", hundredths(c.Overall.Value), hundredths(c.Overall.Low), hundredths(c.Overall.High)),
			"a smaller gap or another sensor does this; noise from a gap's hump grows alike")
	default:
		add(NoChange, captures.Note, fmt.Sprintf("no change of amplitude beyond the scatter of the readings: %s × (%s to %s)", hundredths(c.Overall.Value), hundredths(c.Overall.Low), hundredths(c.Overall.High)), "")
	}
	if c.GapChangeMM.Known {
		add(GapEstimate, captures.Note, fmt.Sprintf("with the same sensor this would be a gap changed by about %+.2f mm: an estimate from the pitch at the rim", c.GapChangeMM.Value),
			"measure the gap with a feeler gauge")
	}
	list = slices.Concat(list, c.commonFindings(), c.noiseFindings(), c.wheelFindings(), c.readingFindings())
	if c.Check != nil {
		list = append(list, c.Check.tableFindings()...)
	}
	SortFindings(list)
	return list
}

// ofPeaks are the kinds of findings that bear on the amplitude, and so on the
// ratio; the others bear on a table.
var ofPeaks = []string{Outlier, UnitDoubt, Contradictory, Clipped, FallingAmplitude, FewReadings}

// readingFindings are what the readings of either side say of themselves.
func (c *Comparison) readingFindings() []captures.Finding {
	ofTable := func(f captures.Finding) bool { return !slices.Contains(ofPeaks, f.Kind) }
	before, after := slices.DeleteFunc(slices.Clone(c.Before.Findings), ofTable), slices.Clone(c.After.Findings)
	if c.Check == nil {
		after = slices.DeleteFunc(after, ofTable)
	}
	return Sides(before, after)
}

// Sides says of each finding on which side of the change it was made; one that
// was made on both is told once.
func Sides(before, after []captures.Finding) []captures.Finding {
	var both, only []captures.Finding
	for _, f := range before {
		again := slices.IndexFunc(after, func(a captures.Finding) bool { return a.Kind == f.Kind && a.Text == f.Text })
		if again < 0 {
			only = append(only, f)
			continue
		}
		both = append(both, f)
		after = slices.Delete(slices.Clone(after), again, again+1)
	}
	return slices.Concat(captures.Of("before and after", both), captures.Of("before", only), captures.Of("after", after))
}

// wheelFindings tell of a wheel that was another before.
func (c *Comparison) wheelFindings() []captures.Finding {
	was, is := c.Before.Options.Wheel, c.After.Options.Wheel
	if !was.Known() || !is.Known() || was.String() == is.String() {
		return nil
	}
	return []captures.Finding{{
		Kind: OtherWheel, Severity: captures.Warning,
		Text:   fmt.Sprintf("the wheel was %s before and is %s after", was, is),
		Advice: "if only the sensor was changed, one of the two wheels is told wrongly: state it with --wheel; if the wheel was changed, set the controller to it",
	}}
}

// commonFindings warn where no speed was measured on both sides.
func (c *Comparison) commonFindings() []captures.Finding {
	b, a := c.Before.Curve, c.After.Curve
	if b.LowRPM <= a.HighRPM && a.LowRPM <= b.HighRPM {
		return nil
	}
	return []captures.Finding{{
		Kind: NoCommonSpeed, Severity: captures.Warning, FromRPM: captures.Some(c.Samples[0].RPM), ToRPM: captures.Some(c.Samples[len(c.Samples)-1].RPM),
		Text: fmt.Sprintf("no speed was measured both before (%s to %s rpm) and after (%s to %s rpm): the ratio rests on how the curves go on between them",
			whole(b.LowRPM), whole(b.HighRPM), whole(a.LowRPM), whole(a.HighRPM)),
		Advice: "measure after the change at speeds that were measured before",
	}}
}

// Noise is looked at together at up to this many speeds, this far apart at most: of
// many readings close by, one alone proves no change.
const (
	noisesTogether = 5
	likeNoise      = 1.2
)

// noiseFindings tell the noise part that grew most, by half or more, at speeds
// both sets measured noise at; where none did, the one that fell most.
func (c *Comparison) noiseFindings() []captures.Finding {
	b, a := c.Before.noise, c.After.noise
	if len(b.noises) == 0 || len(a.noises) == 0 {
		return nil
	}
	grown, fallen := noiseChange{}, noiseChange{}
	for _, at := range a.noises {
		switch change := c.noiseChange(at.rpm); {
		case change.ln > math.Max(grown.ln, math.Log(1.5)):
			grown = change
		case change.ln < math.Min(fallen.ln, -math.Log(1.5)):
			fallen = change
		}
	}
	severity, advice := captures.Warning, "find what was moved or added: routing, shield, earth, ignition leads"
	if grown.ln == 0 {
		grown, severity, advice = fallen, captures.Note, ""
	}
	if grown.ln == 0 {
		return nil
	}
	return []captures.Finding{{
		Kind: NoiseChanged, Severity: severity, FromRPM: captures.Some(grown.rpm), ToRPM: captures.Some(grown.rpm),
		Text: fmt.Sprintf("the noise ceiling at %s rpm went from %s V to %s V", whole(grown.rpm), volts(grown.wasV), volts(grown.isV)), Advice: advice,
	}}
}

// noiseChange is a change of the noise's ceiling at a speed, in ln V; 0 for none
// that is known.
type noiseChange struct{ rpm, wasV, isV, ln float64 }

// noiseChange is the median of the changes at the speeds closest to one, of two
// in the middle the smaller.
func (c *Comparison) noiseChange(rpm float64) noiseChange {
	b, a := c.Before.noise, c.After.noise
	var near []noiseChange
	for _, at := range a.noises {
		if at.rpm < rpm/likeNoise || at.rpm > rpm*likeNoise || !b.reaches(at.rpm) {
			continue
		}
		was, is := b.partV(at.rpm, b.exposureS(at.rpm)), a.partV(at.rpm, a.exposureS(at.rpm))
		if was > 0 && is > 0 {
			near = append(near, noiseChange{at.rpm, was, is, math.Log(is / was)})
		}
	}
	if len(near) == 0 {
		return noiseChange{}
	}
	slices.SortStableFunc(near, func(x, y noiseChange) int {
		return compareFloat(math.Abs(x.rpm-rpm), math.Abs(y.rpm-rpm))
	})
	near = near[:min(len(near), noisesTogether)]
	slices.SortFunc(near, func(x, y noiseChange) int { return compareFloat(x.ln, y.ln) })
	lower, upper := near[(len(near)-1)/2], near[len(near)/2]
	if math.Abs(lower.ln) < math.Abs(upper.ln) {
		return lower
	}
	return upper
}

// reaches tells that noise was measured at a speed or on both sides of it.
func (m *noiseModel) reaches(rpm float64) bool {
	first, last := m.noises[0].rpm, m.noises[len(m.noises)-1].rpm
	return rpm >= first/sameSpeed && rpm <= last*sameSpeed
}
