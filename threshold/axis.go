package threshold

import (
	"math"
	"slices"
)

// limitRound is what the highest reading is rounded up to for a limit that was
// not stated.
const limitRound = 500

// axis returns the speeds of the table: the given ones, or as many as asked
// for, always with 0, both ends of cranking and the limit. The others stand
// where they leave the table the most room; for a number of rows that was not
// asked for, in geometric steps above cranking, which are found at once: the
// curve bends with the ratio of speeds, not with their difference. choice tells
// of a number of rows that was left open, and is nil for others.
func (s *Sensor) axis() (speeds []float64, choice *RowChoice) {
	a := s.Options.Axis
	if a.AtRPM != nil {
		return a.AtRPM, nil
	}
	required := s.requiredSpeeds()
	switch {
	case a.Auto:
		speeds, choice = s.bestAxis(required, 0)
	case a.Best:
		speeds, _ = s.bestAxis(required, a.Rows)
	}
	if speeds == nil {
		speeds = fill(required, a)
	}
	return speeds, choice
}

// requiredSpeeds are those that every axis has.
func (s *Sensor) requiredSpeeds() []float64 {
	a := s.Options.Axis
	rows := []float64{0, s.Options.CrankingLowRPM, s.Options.CrankingRPM, s.LimitRPM}
	if a.Fixed {
		rows[1] = math.Floor(rows[1]/a.StepRPM) * a.StepRPM
		rows[2] = math.Ceil(rows[2]/a.StepRPM) * a.StepRPM
		rows[3] = math.Ceil(rows[3]/a.StepRPM) * a.StepRPM
	}
	slices.Sort(rows)
	return slices.Compact(rows)
}

// fill adds rows in geometric steps between the last two, cranking and the
// limit, each on the axis step and above the one before it. It adds fewer
// where the step leaves no room.
func fill(rows []float64, a Axis) []float64 {
	missing := a.Rows - len(rows)
	last := len(rows) - 1
	cranking, limit := max(rows[last-1], a.StepRPM), rows[last]
	filled := rows[:last:last]
	rpm := cranking
	for i := 1; i <= missing; i++ {
		wanted := cranking * math.Pow(limit/cranking, float64(i)/float64(missing+1))
		wanted = math.Round(wanted/a.StepRPM) * a.StepRPM
		rpm = max(wanted, a.above(rpm))
		if rpm >= limit {
			break
		}
		filled = append(filled, rpm)
	}
	return append(filled, limit)
}

// above is the next speed on the axis step above another.
func (a Axis) above(rpm float64) float64 {
	return (math.Floor(rpm/a.StepRPM+stepSlack) + 1) * a.StepRPM
}
