package report

import (
	"fmt"
	"math"

	"armcurve/threshold/replay"
)

// charts are the pictures of what an input made of a wave, and of the wave
// itself; none where nothing was recorded for them.
func (i InvestigatedCapture) charts() []Chart {
	m := MeasuredCapture{Name: i.Name, Measurement: i.Measurement, Recording: i.Recording}
	if i.Recording == nil || i.Playback == nil {
		return nil
	}
	i.Recording.film.finish()
	i.Playback.film.finish()
	if !i.Result.Countable {
		return append(m.stretch(), m.record()...)
	}
	list := i.causeCharts()
	list = append(list, i.worstChart()...)
	list = append(list, i.angleChart()...)
	list = append(list, m.record()...)
	return append(list, m.teeth()...)
}

// causeCharts are the wave around the first fault of each cause.
func (i InvestigatedCapture) causeCharts() []Chart {
	var list []Chart
	for k, c := range i.Result.Causes {
		x := i.Playback.examples[c.Example]
		if x == nil || x.Wave == nil {
			continue
		}
		title := capital(causeWords(c.Kind)) + ": the first example"
		list = append(list, WaveChart(fmt.Sprintf("cause%d", k+1), title, faultText(x.Event), x.Excerpt))
	}
	return list
}

// faultText says what happened, with the numbers of the event.
func faultText(e replay.Event) string {
	where := fmt.Sprintf("At %s s, at %s rpm,", secondsText(e.TimeS), rpmText(e.RPM))
	level := "with no threshold in the table"
	if e.ThresholdV.Known {
		level = "against a threshold of " + voltText(e.ThresholdV.Value) + " V"
	}
	switch {
	case e.Unseen:
		return fmt.Sprintf("%s the wheel has tooth %d and the wave does not.", where, e.Tooth)
	case e.False && e.Tooth > 0:
		return fmt.Sprintf("%s %s V behind tooth %d is counted, %s.", where, voltText(e.SignalV), e.Tooth, level)
	case e.False:
		return fmt.Sprintf("%s %s V beside the teeth is counted, %s.", where, voltText(e.SignalV), level)
	case e.Tooth > 0:
		return fmt.Sprintf("%s tooth %d rises to %s V and is missed, %s.", where, e.Tooth, voltText(e.SignalV), level)
	}
	return fmt.Sprintf("%s a tooth rises to %s V and is missed, %s.", where, voltText(e.SignalV), level)
}

// worstChart is the wave where the threshold is nearest to being wrong, or most
// wrong.
func (i InvestigatedCapture) worstChart() []Chart {
	worst, isTooth := i.Playback.tooth, true
	if other := i.Playback.other; other.Wave != nil && (worst.Wave == nil || other.Ratio < worst.Ratio) {
		worst, isTooth = other, false
	}
	if worst.Wave == nil {
		return nil
	}
	at := fmt.Sprintf("At %s s, at %s rpm,", secondsText(i.timeS(worst.At)), rpmText(worst.RPM))
	threshold := "the threshold of " + voltText(worst.ThresholdV) + " V"
	caption := fmt.Sprintf("%s tooth %d rises to %s × %s: nowhere is a tooth lower against it.", at, worst.Number, marginText(worst.Ratio), threshold)
	if !isTooth {
		caption = fmt.Sprintf("%s %s is %s × what rises beside tooth %d: nowhere is it lower against what is no tooth.", at, threshold, marginText(worst.Ratio), worst.Number)
	}
	title := "The closest call"
	if i.Result.Faults() > 0 {
		title = "The worst place"
	}
	return []Chart{WaveChart("worst", title, caption, worst.Excerpt)}
}

func (i InvestigatedCapture) timeS(at float64) float64 {
	info := i.Measurement.Info
	return info.StartS + at*info.StepS
}

// angleChart is where on the crank the false events came.
func (i InvestigatedCapture) angleChart() []Chart {
	places := i.Result.Places
	if len(places) == 0 {
		return nil
	}
	spanDeg := 360.0
	for _, p := range places {
		if p.CrankDeg >= 360 {
			spanDeg = 720
		}
	}
	aboutDeg, n := fullest(places, spanDeg)
	of := countText(int64(len(places)), "false event", "false events")
	if i.Result.PlacesEach > 1 {
		of += fmt.Sprintf(" shown (one of every %d)", i.Result.PlacesEach)
	}
	caption := fmt.Sprintf("%d of the %s lie within %d degrees, about %.0f.", n, of, windowDeg, aboutDeg)
	if n < (len(places)+1)/2 {
		caption = fmt.Sprintf("The %s are spread: no %d degrees hold more than %d of them.", of, windowDeg, n)
	}
	return []Chart{AngleChart("angle", "False events by crank angle", caption, places, spanDeg)}
}

// windowDeg is how wide a stretch of the turn is looked at.
const windowDeg = 20

// fullest is the mean angle of the events in the stretch of the turn that holds
// most of them, and how many it holds.
func fullest(places []replay.Place, spanDeg float64) (aboutDeg float64, most int) {
	var counts [720]int
	span := int(spanDeg)
	for _, p := range places {
		counts[int(p.CrankDeg)%span]++
	}
	for from := range span {
		n, sum := 0, 0.0
		for d := range windowDeg {
			k := counts[(from+d)%span]
			n += k
			sum += (float64(d) + 0.5) * float64(k)
		}
		if n > most {
			aboutDeg, most = math.Mod(float64(from)+sum/float64(n), spanDeg), n
		}
	}
	return aboutDeg, most
}
