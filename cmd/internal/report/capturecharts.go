package report

import (
	"fmt"
	"math"

	"armcurve/captures/teeth"
)

// charts are the pictures of one sensor's wave; none where nothing was
// recorded for them.
func (m MeasuredCapture) charts() []Chart {
	if m.Recording == nil {
		return nil
	}
	m.Recording.film.finish()
	list := m.excerpts()
	list = append(list, m.record()...)
	return append(list, m.teeth()...)
}

// excerpts are the wave around the worst place and around the first tooth that
// it lost; where no teeth are to be told, around any.
func (m MeasuredCapture) excerpts() []Chart {
	r := m.Recording
	if !m.counts() {
		return m.stretch()
	}
	var list []Chart
	if low := r.lowest; low.Wave != nil {
		list = append(list, WaveChart("weakest", "The weakest tooth", fmt.Sprintf("At %s s, at %s rpm, tooth %d rises to %s V, %.0f %% of the mean tooth of the turn before.",
			secondsText(low.TimeS), rpmText(low.RPM), low.Number, voltText(low.PeakV), 100*low.Share), low.Excerpt))
	}
	if lost := r.lost; lost.Wave != nil && m.Measurement.Unseen > 0 {
		list = append(list, WaveChart("lost", "A tooth lost from the wave", fmt.Sprintf("At %s s the wheel has tooth %d and the wave does not: the first of %s.",
			secondsText(lost.TimeS), lost.Number, countText(m.Measurement.Unseen, "such tooth", "such teeth")), lost.Excerpt))
	}
	return list
}

// stretch is the wave anywhere.
func (m MeasuredCapture) stretch() []Chart {
	x := m.Recording.usual
	if x.Wave == nil {
		x = m.Recording.loudest.excerpt()
	}
	if len(x.Wave) == 0 {
		return nil
	}
	caption := "The teeth are those of the wheel."
	if !m.counts() {
		x.Teeth = nil // their numbers mean nothing
		caption = capital(m.refusedBecause())
	}
	return []Chart{WaveChart("wave", "A stretch of the wave", caption, x)}
}

// counts tells whether the teeth of the wave are those of the wheel.
func (m MeasuredCapture) counts() bool {
	x := m.Measurement
	return x.Signal == teeth.Reluctor && x.Polarity != teeth.Reversed && x.Wheel.Known()
}

func (m MeasuredCapture) refusedBecause() string {
	x := m.Measurement
	switch {
	case x.Signal != teeth.Reluctor:
		return "not known as a reluctor's: " + x.SignalWhy + "."
	case x.Polarity == teeth.Reversed:
		return "the sensor's wires are reversed: " + x.PolarityWhy + "."
	}
	return "the wheel cannot be told: " + x.WheelWhy + "."
}

// record is the whole of the wave and of the engine's speed.
func (m MeasuredCapture) record() []Chart {
	r := m.Recording
	info := m.Measurement.Info
	var list []Chart
	if low, high, ok := r.extremes.span(); ok {
		list = append(list, RecordChart("record", "The whole record", fmt.Sprintf("The wave lies between %s and %s V, over %s s.",
			voltText(low), voltText(high), secondsText(float64(m.Measurement.Samples)*info.StepS)), r.extremes, info.StartS, info.StepS))
	}
	if m.counts() && len(r.speed.stretches) > 1 {
		low, high := r.speed.span()
		list = append(list, SpeedChart("speed", "Engine speed", fmt.Sprintf("The engine turns at %s to %s rpm, from one tooth to the next.", rpmText(low), rpmText(high)), r.speed.points()))
	}
	return list
}

// teeth is the height of each tooth of the wheel.
func (m MeasuredCapture) teeth() []Chart {
	shares := m.Measurement.Weak
	at := weakest(shares)
	if at < 0 || len(shares) < 2 {
		return nil
	}
	caption := fmt.Sprintf("Tooth %d is the weakest, at %.1f %% of the mean tooth", at+1, 100*shares[at])
	if low, high := othersOf(shares, at); low <= high {
		caption += fmt.Sprintf("; the others are at %.1f to %.1f %%", 100*low, 100*high)
	}
	return []Chart{TeethChart("teeth", "Peak by tooth", caption+".", shares)}
}

// othersOf are the lowest and the highest share but for one.
func othersOf(shares []float64, but int) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for i, share := range shares {
		if i != but {
			low, high = min(low, share), max(high, share)
		}
	}
	return low, high
}

// mostPictured is how many waves one page has pictures of: it is to stay small.
const mostPictured = 8

// waveSections are the pictures of captures, one section each.
func waveSections(list []MeasuredCapture) []Section {
	var sections []Section
	for _, m := range list {
		if charts := m.charts(); len(charts) > 0 {
			sections = append(sections, Section{Title: "The wave: " + m.Name + ", " + m.Measurement.Sensor, Charts: Drawn(charts...)})
		}
	}
	more := len(sections) - mostPictured
	if more <= 0 {
		return sections
	}
	return append(sections[:mostPictured], Section{Title: fmt.Sprintf("%d more captures without pictures: a page has those of %d", more, mostPictured)})
}

// secondsText is a time in a file, to a tenth of a millisecond.
func secondsText(s float64) string { return brief(math.Round(s*1e4)/1e4, 12).Text }

func countText(n int64, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
