package browsertest

import (
	"math"
	"strconv"

	"armcurve/cmd/internal/report"
	"armcurve/threshold/replay"
)

// wavePictures is a document with every picture that is drawn from a wave, of
// made-up data.
func wavePictures() report.Document {
	x, volts := excerpt()
	e := report.NewExtremes()
	for range 50 {
		e.Add(volts)
	}
	var heights []float64
	var speed []report.Point
	var places []replay.Place
	for i := range 35 {
		v := 1 + 0.08*math.Sin(float64(i)/35*2*math.Pi)
		if i == 11 {
			v = 0.7
		}
		heights = append(heights, v)
	}
	for i := range 300 {
		f := float64(i)
		speed = append(speed, report.Point{X: f / 50, Y: 900 + 15*f + 40*math.Sin(f/3)})
		places = append(places, replay.Place{CrankDeg: math.Mod(f*137.5, 360), RPM: 3000 + 10*f}, replay.Place{CrankDeg: 84 + 3*math.Sin(f), RPM: 3000 + 10*f})
	}
	return report.Document{
		Sentence: "Every picture of a wave.",
		Sections: []report.Section{{Charts: report.Drawn(
			report.WaveChart("worst", "The wave at the worst place", "At 1.2 s tooth 12 stays under the threshold.", x),
			report.RecordChart("record", "The whole record", "The signal grows with speed.", e, 0, stepS),
			report.SpeedChart("speed", "Engine speed", "The engine runs up from 900 to 5400 rpm.", speed),
			report.TeethChart("teeth", "Peak by tooth", "Tooth 12 is short.", heights),
			report.AngleChart("angle", "False events by crank angle", "Half of them come at 84 degrees.", places, 360),
		)}},
	}
}

const stepS = 4e-6 // between samples

// excerpt is a turn of a 36-1 wheel with one short tooth, 4 kHz teeth at 250 kHz,
// and its samples.
func excerpt() (x report.Excerpt, volts []float64) {
	const startS, pitchS = 1.2, 250e-6
	wave := func(t float64) float64 {
		v := 4 * math.Sin(2*math.Pi*t/pitchS)
		switch tooth := int(t / pitchS); {
		case tooth%36 == 35:
			v *= 0.2
		case tooth%36 == 11:
			v *= 0.3
		}
		return v
	}
	at := func(t float64) report.Point { return report.Point{X: startS + t, Y: wave(t)} }
	for i := range 4000 {
		p := at(float64(i) * stepS)
		p.Y += 0.05 * math.Sin(float64(i)*1.7)
		x.Wave, volts = append(x.Wave, p), append(volts, p.Y)
	}
	for tooth := range 64 {
		t := float64(tooth) * pitchS
		top := at(t + 0.25*pitchS)
		switch {
		case tooth%36 == 35:
			continue
		case tooth%36 == 11:
			x.Missed = append(x.Missed, top)
		default:
			x.Armed = append(x.Armed, at(t+0.06*pitchS))
			x.Counted = append(x.Counted, at(t+0.5*pitchS))
		}
		x.Teeth = append(x.Teeth, report.Dot{X: top.X, Y: top.Y, Text: strconv.Itoa(tooth%36 + 1)})
	}
	x.False = []report.Point{at(35.7 * pitchS)}
	x.Threshold = []report.Point{{X: startS, Y: 1.5}, {X: startS + 4000*stepS, Y: 1.5}}
	return x, volts
}
