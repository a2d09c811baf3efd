package threshold

import (
	"math"
	"slices"

	"armcurve/captures"
)

// JudgedRow is a row of a table with what its stretch of speeds allows: the
// speeds nearer to it than to another row, or those it is held for.
type JudgedRow struct {
	Row
	// Window is the one at the row's own speed.
	Window Window
	// SignalMargin and NoiseMargin are the least in the stretch: already the
	// pessimistic bound. Unknown where nothing is judged, where the noise is
	// not known, or where there is no threshold.
	SignalMargin, NoiseMargin captures.Maybe
	// WorstRPM is where, of the speeds that have the row's verdict, a margin is
	// least against its target; of speeds alike the one nearest to the row.
	WorstRPM float64
	Verdict  Verdict
	// FalsePerHour is how often Gaussian noise passes the threshold at the
	// row's speed, MissedPerMillion how many of a million passages of the
	// weakest tooth stay under it. Known where the noise, or the spread of
	// peaks, was measured.
	FalsePerHour, MissedPerMillion captures.Maybe
}

// Worst is the speed at which a table is tightest, of those alike the lowest at
// which the engine turns, and what holds it back.
type Worst struct {
	RPM                       float64
	SignalMargin, NoiseMargin captures.Maybe
	// Score is the least margin ÷ the one wanted there: its target, or a share
	// of it where there is no room for both targets.
	Score float64
	// HeldBackBy is what keeps the score from being larger: one of the HeldBy…
	// names; of a table that reaches its targets, what keeps any table with the
	// same rows from a larger one. NoisePart is the part of the noise ceiling,
	// where that is noise. Known of results, which are held against the best
	// there is.
	HeldBackBy, NoisePart string
}

// Judgement is a table held against a sensor at every speed.
type Judgement struct {
	Verdict Verdict
	Rows    []JudgedRow
	Worst   Worst
	// Decisive is the worst of the speeds that have the table's verdict. Where it
	// fails, the worst speed of all may be one that is only thin: what is left
	// of a large target can be less.
	Decisive Worst
	// ClearFromRPM is the speed from which both targets are reached up to the
	// limit, where that is not the whole range.
	ClearFromRPM captures.Maybe
}

// judge holds a table against the windows of one sensor.
type judge struct {
	windows []Window // by speed, from 0 to the limit, those at the rows included
}

// pointsPerRange is how many speeds are judged between cranking and the limit,
// a constant ratio apart: 2 % for a range of 1 : 60. Margins change by far less
// in such a step.
const pointsPerRange = 200

// newJudge adds to the sensor's windows those at the rows of a table, which are
// by rising speed. What a step table holds up to the next row is judged right
// below it.
func (s *Sensor) newJudge(rowsRPM []float64) *judge {
	var speeds []float64
	for _, rpm := range rowsRPM {
		if s.Options.Input.BetweenRows == Step && rpm > 0 {
			speeds = append(speeds, math.Nextafter(rpm, 0))
		}
		speeds = append(speeds, rpm)
	}
	return &judge{merge(s.windows, s.windowsAt(speeds))}
}

// merge joins two lists by rising speed into one with every speed once.
func merge(a, b []Window) []Window {
	merged := make([]Window, 0, len(a)+len(b))
	for len(a) > 0 && len(b) > 0 {
		switch {
		case a[0].RPM < b[0].RPM:
			merged, a = append(merged, a[0]), a[1:]
		case a[0].RPM > b[0].RPM:
			merged, b = append(merged, b[0]), b[1:]
		default:
			b = b[1:]
		}
	}
	return append(append(merged, a...), b...)
}

// judgedSpeeds are the speeds that every table is judged at, rising: a fine
// grid, and where the window has a corner, on both sides of what jumps.
func (s *Sensor) judgedSpeeds() []float64 {
	low, cranking, limit := s.Options.CrankingLowRPM, s.Options.CrankingRPM, s.LimitRPM
	speeds := []float64{limit, cranking, 3 * cranking}
	for i := range 8 {
		speeds = append(speeds, low*float64(i)/8)
	}
	for i := range pointsPerRange {
		speeds = append(speeds, low*math.Pow(limit/low, float64(i)/pointsPerRange))
	}
	for _, jump := range []float64{1.5 * cranking, s.unmeasuredBelowRPM, s.Curve.HighRPM} {
		if jump > 0 {
			speeds = append(speeds, jump, math.Nextafter(jump, 0), math.Nextafter(jump, math.Inf(1)))
		}
	}
	speeds = append(speeds, s.readingsRPM...)
	slices.Sort(speeds)
	return slices.Compact(speeds)
}

// windowsAt returns the windows at those of the speeds that are judged.
func (s *Sensor) windowsAt(speeds []float64) []Window {
	windows := make([]Window, 0, len(speeds))
	for _, rpm := range speeds {
		if rpm >= 0 && rpm <= s.LimitRPM {
			windows = append(windows, s.Window(rpm))
		}
	}
	return windows
}

// Judge holds a table against the sensor at every speed from 0 to the limit.
func (s *Sensor) Judge(t Table) Judgement {
	return s.newJudge(t.speedsRPM()).judge(s, t)
}

func (j *judge) judge(s *Sensor, t Table) Judgement {
	result := Judgement{Rows: make([]JudgedRow, len(t.Rows)), Worst: Worst{Score: math.Inf(1)}, Decisive: Worst{Score: math.Inf(1)}}
	scores := make([]float64, len(t.Rows))
	for i, row := range t.Rows {
		result.Rows[i] = JudgedRow{Row: row, Window: s.Window(row.RPM), WorstRPM: row.RPM}
		result.Rows[i].FalsePerHour, result.Rows[i].MissedPerMillion = s.rates(row)
		scores[i] = math.Inf(1)
	}
	judged := make([]bool, len(t.Rows))
	clearFrom, missed := 0.0, false
	for _, w := range j.windows {
		m := w.judgeAt(t)
		if m.verdict > result.Verdict {
			result.Verdict, result.Decisive = m.verdict, Worst{Score: math.Inf(1)}
		}
		if m.verdict == result.Verdict {
			result.Decisive.worsen(w, m, s.Options.CrankingLowRPM)
		}
		if m.score < 1-targetSlack {
			clearFrom, missed = math.Inf(1), true
		} else if math.IsInf(clearFrom, 1) {
			clearFrom = w.RPM
		}
		result.Worst.worsen(w, m, s.Options.CrankingLowRPM)
		if len(t.Rows) == 0 {
			continue
		}
		i := t.chargedTo(w.RPM)
		judged[i] = true
		result.Rows[i].worsen(w.RPM, m, &scores[i])
	}
	for i := range result.Rows {
		if !judged[i] { // above the limit
			result.Rows[i].Verdict = Unproven
		}
	}
	if missed {
		result.ClearFromRPM = captures.Finite(clearFrom)
	}
	result.tidy(t.BetweenRows)
	return result
}

// worsen takes the margins at one more speed, by rising speed.
func (w *Worst) worsen(at Window, m margins, lowRPM float64) {
	if m.score < w.Score || m.score == w.Score && at.Turning && w.RPM < lowRPM {
		*w = Worst{RPM: at.RPM, SignalMargin: m.signal, NoiseMargin: m.noise, Score: m.score}
	}
}

// tidy rounds the speeds found to what a tuner can set.
func (j *Judgement) tidy(between BetweenRows) {
	j.Worst.RPM, j.Decisive.RPM = between.tidyRPM(j.Worst.RPM), between.tidyRPM(j.Decisive.RPM)
	j.ClearFromRPM.Value = math.Round(j.ClearFromRPM.Value*10) / 10
	for i := range j.Rows {
		j.Rows[i].WorstRPM = between.tidyRPM(j.Rows[i].WorstRPM)
	}
}

// tidyRPM rounds to tenths. Where rows are held up to the next, a speed a hair
// below one gives the tenth below: at the next one another threshold stands.
func (b BetweenRows) tidyRPM(rpm float64) float64 {
	tenth := math.Round(rpm*10) / 10
	if b == Step && tenth > rpm && tenth-rpm < hair*tenth {
		return math.Round(rpm*10-1) / 10
	}
	return tenth
}

// judgeAt judges a table in one window; a speed without a threshold fails.
func (w Window) judgeAt(t Table) margins {
	thresholdV := t.At(w.RPM)
	if !thresholdV.Known {
		return margins{verdict: Fails, score: 0}
	}
	return w.judge(thresholdV.Value)
}

// worsen takes the margins at one speed of the row's stretch.
func (r *JudgedRow) worsen(rpm float64, m margins, score *float64) {
	r.SignalMargin = smaller(r.SignalMargin, m.signal)
	r.NoiseMargin = smaller(r.NoiseMargin, m.noise)
	if m.verdict > r.Verdict {
		r.Verdict, *score = m.verdict, math.Inf(1)
	}
	nearer := math.Abs(rpm-r.RPM) < math.Abs(r.WorstRPM-r.RPM)
	if m.verdict == r.Verdict && (m.score < *score || m.score == *score && nearer) {
		*score, r.WorstRPM = m.score, rpm
	}
}

func smaller(a, b captures.Maybe) captures.Maybe {
	if !a.Known || b.Known && b.Value < a.Value {
		return b
	}
	return a
}

func (t Table) speedsRPM() []float64 {
	speeds := make([]float64, len(t.Rows))
	for i, row := range t.Rows {
		speeds[i] = row.RPM
	}
	return speeds
}

// rates are a row's false arms per hour and missed passages of the weakest
// tooth per million, from the measured noise and spread of peaks, both taken
// as Gaussian.
func (s *Sensor) rates(row Row) (falsePerHour, missedPerMillion captures.Maybe) {
	if !row.ThresholdV.Known {
		return
	}
	if len(s.noise.gaussian) > 0 {
		rate := RiceRate(row.ThresholdV.Value, s.noise.rmsV(row.RPM), s.noise.rateHz(row.RPM))
		falsePerHour = captures.Finite(3600 * rate)
	}
	if len(s.noise.spreads) > 0 {
		countedRPM := max(row.RPM, s.Options.CrankingLowRPM)
		sdV := over(s.noise.spreads, countedRPM, bySlope, func(at noiseAt) float64 { return at.peakSDV.Value })
		room := (s.WeakestV(countedRPM) - row.ThresholdV.Value) / sdV
		missedPerMillion = captures.Finite(1e6 * 0.5 * math.Erfc(room/math.Sqrt2))
	}
	return
}
