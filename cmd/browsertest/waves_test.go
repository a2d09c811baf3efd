package browsertest

import (
	"math"

	"armcurve/captures"
	"armcurve/cmd/internal/report"
)

// wavePictures is a document with every picture that is drawn from a wave, of
// made-up data.
func wavePictures() report.Document {
	x := excerpt()
	e := report.NewExtremes()
	for range 50 {
		e.Add(x.V)
	}
	var heights []report.ToothHeight
	var speed []report.Point
	var angles []report.AngleEvent
	for i := range 35 {
		v := 4 + 0.3*math.Sin(float64(i)/35*2*math.Pi)
		if i == 11 {
			v = 2.9
		}
		heights = append(heights, report.ToothHeight{Number: i + 1, MeanV: v, LowV: 0.97 * v, HighV: 1.03 * v})
	}
	for i := range 300 {
		f := float64(i)
		speed = append(speed, report.Point{X: f / 50, Y: 900 + 15*f + 40*math.Sin(f/3)})
		angles = append(angles, report.AngleEvent{CrankDeg: math.Mod(f*137.5, 360), RPM: 3000 + 10*f}, report.AngleEvent{CrankDeg: 84 + 3*math.Sin(f), RPM: 3000 + 10*f})
	}
	return report.Document{
		Sentence: "Every picture of a wave.",
		Sections: []report.Section{{Charts: []report.Chart{
			report.WaveChart("worst", "The wave at the worst place", "At 1.2 s tooth 12 stays under the threshold.", x),
			report.RecordChart("record", "The whole record", "The signal grows with speed.", e, 0, x.StepS),
			report.SpeedChart("speed", "Engine speed", "The engine runs up from 900 to 5400 rpm.", speed),
			report.TeethChart("teeth", "Peak by tooth", "Tooth 12 is short.", heights),
			report.AngleChart("angle", "False events by crank angle", "Half of them come at 84 degrees.", angles, 360),
		}}},
	}
}

// excerpt is a turn of a 36-1 wheel with one short tooth, 4 kHz teeth at 250 kHz.
func excerpt() report.Excerpt {
	x := report.Excerpt{StartS: 1.2, StepS: 4e-6}
	const pitchS = 250e-6
	for i := range 4000 {
		t := float64(i) * x.StepS
		tooth := int(t / pitchS)
		v := 4 * math.Sin(2*math.Pi*t/pitchS)
		switch {
		case tooth%36 == 35:
			v = 0.2 * v
		case tooth%36 == 11:
			v = 0.3 * v
		}
		x.V = append(x.V, v+0.05*math.Sin(float64(i)*1.7))
		if i%62 == 0 && tooth%36 != 35 && tooth < 64 {
			at := x.StartS + (float64(tooth)+0.5)*pitchS
			x.Teeth = append(x.Teeth, captures.Tooth{TimeS: at, Number: tooth%36 + 1, PeakV: 4})
			if tooth%36 == 11 {
				x.MissedS = append(x.MissedS, at)
				continue
			}
			x.ArmedS = append(x.ArmedS, x.StartS+(float64(tooth)+0.1)*pitchS)
			x.EventS = append(x.EventS, at)
		}
	}
	x.FalseS = []float64{x.StartS + 35.7*pitchS}
	x.Threshold = []report.Point{{X: x.StartS, Y: 1.5}, {X: x.StartS + 4000*x.StepS, Y: 1.5}}
	return x
}
