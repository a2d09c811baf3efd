package report

import "armcurve/threshold"

// judgedCharts are the pictures of a table: its place between noise and
// weakest tooth, and the margins that leaves.
func judgedCharts(r threshold.Result) []Chart {
	p := newTablePicture(r)
	return []Chart{p.amplitude(), p.margins()}
}

// tablePicture is what the pictures of a table are drawn from: the numbers of
// its JSON.
type tablePicture struct {
	threshold.Result
	samples []SampleJSON
	along   []MarginJSON
	// noiseRPM is the highest speed the noise was measured at.
	noiseRPM float64
	x        Axis
}

func newTablePicture(r threshold.Result) tablePicture {
	p := tablePicture{Result: r, samples: curveJSON(r.Sensor).Samples, along: marginsJSON(r)}
	for _, reading := range r.Sensor.Readings() {
		if reading.HasNoise() {
			p.noiseRPM = max(p.noiseRPM, reading.RPM)
		}
	}
	low, high := p.samples[0].RPM, r.Sensor.LimitRPM
	from, to := low, high
	for _, row := range r.Table.Rows {
		if row.RPM >= low/4 {
			from = min(from, row.RPM)
		}
		to = max(to, row.RPM)
	}
	p.x = speedAxis(from, to)
	p.x.Standstill = true
	return p
}

// speedAxis gives equal ratios of speed equal lengths: cranking has as much
// room as the top.
func speedAxis(from, to float64) Axis {
	return Axis{Label: "engine speed, rpm", From: from, To: to, Ratio: true, Hard: true}
}
