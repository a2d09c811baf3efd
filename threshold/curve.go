package threshold

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Estimate is the amplitude at one speed, in volts: the curve and its one-sided
// bounds for one further reading there. 0 ≤ LowV ≤ V ≤ HighV.
type Estimate struct {
	V, LowV, HighV float64
}

// Curve is the mean tooth peak against engine speed.
type Curve struct {
	// Model names the shape inside the measured speeds.
	Model string
	// Parameters of the printed shape; empty where the curve is shape-free.
	Parameters []Parameter
	// LowRPM and HighRPM are the lowest and highest speed measured.
	LowRPM, HighRPM float64
	// Speeds is the number of distinct speeds measured.
	Speeds int
	// Scatter is the relative standard deviation found about the curve.
	Scatter float64

	printed shapeFit
	free    *freeCurve // nil where the printed shape fits
	// readingSD is s: one reading's scatter, found and expected weighed.
	readingSD float64
	bound     float64 // t·s: the bound's distance in ln V before leverage
	beyond    []shapeCurve
	doubts    []doubt
	clips     clips
	// possible are all the curves that the points of basis allow; beyond are
	// those of them that bound the amplitude above the readings.
	possible []shapeCurve
	basis    points
}

// Parameter is one number of a shape.
type Parameter struct {
	Name  string // with its unit
	Value float64
}

// Numbers behind the bounds.
const (
	// priorDF is the weight, in degrees of freedom, of the scatter expected
	// against the scatter found: three readings in line do not prove
	// perfection, three that scatter do not prove nothing.
	priorDF = 10
	// freeSpeeds is the least number of distinct speeds for a shape-free curve.
	freeSpeeds = 8
)

// leastSpeeds is the least number of distinct speeds that make a curve.
const leastSpeeds = 3

// newCurve makes the curve of the points from the fits of every possible shape
// to them. Its bounds beyond the points are worked out up to reachRPM.
func newCurve(p points, fits []shapeFit, o Options, confidence, reachRPM float64) (*Curve, error) {
	f := choose(of(printable, fits), p, o.ReadingScatter)
	c := &Curve{
		Model: f.shape.name, LowRPM: p.lowRPM(), HighRPM: p.highRPM(), Speeds: p.speeds,
		Scatter: f.scatter, printed: f,
	}
	nu := float64(p.speeds - f.shape.parameters())
	if lacksFit(f, p, o.ReadingScatter) {
		c.free = newFreeCurve(p)
		c.Model, c.Scatter = shapeFree, c.free.scatter
	} else {
		c.Parameters = f.parameters()
	}
	c.readingSD = math.Sqrt((nu*c.Scatter*c.Scatter + priorDF*o.ReadingScatter*o.ReadingScatter) / (nu + priorDF))
	c.bound = quantile(confidence, nu+priorDF) * c.readingSD
	var err error
	c.beyond, err = c.possibleBeyond(fits, p, confidence, reachRPM)
	return c, err
}

// quantile is Student's t, one-sided.
func quantile(confidence, df float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(confidence)
}

func (f shapeFit) parameters() []Parameter {
	list := []Parameter{{f.shape.scaleName(), finiteExp(f.curve.lnK)}}
	if f.shape.theta != "" {
		list = append(list, Parameter{f.shape.theta, f.curve.theta})
	}
	return list
}

// At gives the amplitude at a speed. Inside the measured speeds the bound is
// that of the curve for one further reading, f·exp(∓t·s·√(1 + x′Cx)). Above
// them every curve still possible counts too, by as much as one reading may be
// off it, but none that lies under what a clipped reading shows. Below them the
// amplitude goes to zero in proportion.
func (c *Curve) At(rpm float64) Estimate {
	if rpm <= 0 {
		return Estimate{}
	}
	n := speedAt(rpm)
	lnV, spread := c.lnAt(n), c.spread(n)
	low, high := c.lnLow(n), lnV+spread
	if rpm > c.HighRPM && len(c.clips) > 0 {
		low = math.Max(low, math.Min(lnV, c.clips.floor(n, c.HighRPM, c.bound, c.lnLow)))
	}
	if rpm < c.LowRPM || rpm > c.HighRPM {
		for _, b := range c.beyond {
			high = math.Max(high, b.lnAt(n)+c.bound)
		}
	}
	for _, d := range c.doubts {
		low = math.Min(low, d.lnLimit(n)-spread)
	}
	return Estimate{finiteExp(lnV), finiteExp(low), finiteExp(high)}
}

// spread is the distance of the bounds of one further reading from the curve, in
// ln V.
func (c *Curve) spread(n speed) float64 {
	if n.rpm < c.LowRPM {
		n = speedAt(c.LowRPM)
	}
	return c.bound * math.Sqrt(1+c.leverage(n))
}

// lnLow is the lower bound by the readings that are fitted.
func (c *Curve) lnLow(n speed) float64 {
	low := c.lnAt(n) - c.spread(n)
	if n.rpm > c.HighRPM {
		for _, b := range c.beyond {
			low = math.Min(low, b.lnAt(n)-c.bound)
		}
	}
	return low
}

// finiteExp keeps what wild readings lead to within floating point's range.
func finiteExp(x float64) float64 { return math.Exp(math.Min(x, 600)) }

// lnAt is ln V of the curve. Below the lowest reading it falls in proportion to
// speed; above the highest a shape-free curve goes on along the printed shape,
// joined to it there.
func (c *Curve) lnAt(n speed) float64 {
	if low := speedAt(c.LowRPM); n.rpm < c.LowRPM {
		return c.lnAt(low) + n.ln - low.ln
	}
	if c.free == nil {
		return c.printed.curve.lnAt(n)
	}
	if n.rpm <= c.HighRPM {
		return math.Log(c.free.at(n.rpm))
	}
	return c.printed.curve.lnAt(n) + math.Log(c.free.at(c.HighRPM)) - c.printed.curve.lnAt(speedAt(c.HighRPM))
}

// leverage is x′Cx. A shape-free curve passes through the median of each speed,
// so it is as uncertain there as one reading.
func (c *Curve) leverage(n speed) float64 {
	if c.free != nil {
		return math.Max(1, c.printed.leverage(n))
	}
	return c.printed.leverage(n)
}

// CornerRPM is the speed at which a roll-off has cost 3 dB; ok is false for
// curves of another shape.
func (c *Curve) CornerRPM() (rpm float64, ok bool) {
	if c.printed.shape != rollOff || c.free != nil {
		return 0, false
	}
	return c.printed.curve.theta, true
}
