package report

import (
	"fmt"

	"armcurve/captures"
)

// mostShown is the largest margin that a picture shows.
const mostShown = 1000

func (p tablePicture) margins() Chart {
	c := Chart{
		Name: "margins", Title: "Margins to both sides", Caption: p.marginCaption(),
		X: p.x, Y: Axis{Label: "margin, ×", Ratio: true, Hard: true},
	}
	signal, noise := Line{Label: "signal margin: weakest tooth ÷ threshold", Stroke: Firm}, Line{Label: "noise margin: threshold ÷ noise", Stroke: Dashed}
	signalWanted, noiseWanted := Line{Label: "signal margin wanted", Stroke: DashDot}, Line{Label: "noise margin wanted", Stroke: Dotted}
	e := extent{0.9, 2, true}
	for _, m := range p.along {
		signal.Points = append(signal.Points, Point{m.RPM, known(m.SignalMargin)})
		noise.Points = append(noise.Points, Point{m.RPM, known(m.NoiseMargin)})
		noiseWanted.Points = append(noiseWanted.Points, Point{m.RPM, m.NoiseTarget})
		e.add(m.SignalMargin.Value)
		e.add(m.NoiseMargin.Value)
		if m.SignalMargin.Known {
			signalWanted.Points = append(signalWanted.Points, Point{m.RPM, m.SignalTarget})
			e.add(m.SignalTarget)
		}
	}
	c.Y.From, c.Y.To = widenRatio(max(e.low, 1.0/mostShown), min(e.high, mostShown))
	c.Bands = []Band{{Label: "1 × or less: teeth lost, or noise counts", Fill: Crossed, Spans: []Span{{p.x.From, c.Y.From, 1}, {p.x.To, c.Y.From, 1}}}}
	c.Lines = append(split(signal, p.beyondPeaks), signalWanted)
	if p.Sensor.NoiseKnown() {
		c.Lines = append(c.Lines, split(noise, p.beyondNoise)...)
		c.Lines = append(c.Lines, noiseWanted)
	}
	c.Dots = []Dots{p.worstDots()}
	c.Numbers = []Table{p.marginsTable()}
	return c
}

func (p tablePicture) marginCaption() string {
	w := p.Judgement.Worst
	if !w.SignalMargin.Known && !w.NoiseMargin.Known {
		return "Where there is no threshold there are no margins."
	}
	return fmt.Sprintf("The table is tightest at %s rpm: %s.", worstText(w.RPM), marginsAt(p.Result, w))
}

// worstDots ring the margins at the worst speed.
func (p tablePicture) worstDots() Dots {
	w := p.Judgement.Worst
	d := Dots{Label: "worst speed", Mark: Ring}
	for _, m := range []captures.Maybe{w.SignalMargin, w.NoiseMargin} {
		if m.Known {
			d.At = append(d.At, Dot{X: w.RPM, Y: m.Value})
		}
	}
	return d
}

func (p tablePicture) marginsTable() Table {
	t := Table{Columns: []Column{
		{Head: "rpm", Key: "rpm"}, {Head: "threshold V", Key: "threshold_v"}, {Head: "signal ×", Key: "signal_margin"}, {Head: "wanted ×", Key: "signal_target"},
		{Head: "noise ×", Key: "noise_margin"}, {Head: "wanted ×", Key: "noise_target"},
	}}
	for _, m := range p.along {
		t.Rows = append(t.Rows, []Cell{
			rpmCell(m.RPM), voltCell(m.ThresholdV), marginCell(m.SignalMargin), targetCell(m.SignalTarget), marginCell(m.NoiseMargin), targetCell(m.NoiseTarget),
		})
	}
	return t
}

func targetCell(v float64) Cell { return Cell{targetText(v), exactly(v)} }
