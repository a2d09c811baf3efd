package simulate

import (
	"fmt"

	"armcurve/captures"
)

// Gap is a place on a wheel where teeth are missing.
type Gap struct {
	After   int // tooth places from an arbitrary mark to the first missing one
	Missing int
}

// UnevenWheel is a wheel of so many tooth places whose gaps stand where they are
// put, in rising order, and not evenly around it. As on every wheel, place 0 is
// the first tooth after the longest gap, the first of them if several are
// longest.
func UnevenWheel(pitches int, gaps ...Gap) (captures.Wheel, error) {
	missing := make([]int, len(gaps))
	longest := 0
	for i, g := range gaps {
		missing[i] = g.Missing
		if g.Missing > gaps[longest].Missing {
			longest = i
		}
		end := pitches + gaps[0].After
		if i+1 < len(gaps) {
			end = gaps[i+1].After
		}
		if g.After < 0 || g.Missing < 1 || g.After+g.Missing >= end {
			return captures.Wheel{}, fmt.Errorf("gap %d of the wheel: found %d missing after place %d, want 1 or more and a tooth before the next gap",
				i+1, g.Missing, g.After)
		}
	}
	wheel, err := captures.NewWheel(pitches, nil)
	if err != nil || len(gaps) == 0 {
		return wheel, err
	}
	first := gaps[longest].After + gaps[longest].Missing
	wheel.Missing, wheel.Positions = missing, nil
	for place := range pitches {
		if !inGap(gaps, pitches, first+place) {
			wheel.Positions = append(wheel.Positions, place)
		}
	}
	return wheel, nil
}

func inGap(gaps []Gap, pitches, place int) bool {
	for _, g := range gaps {
		if (place-g.After+2*pitches)%pitches < g.Missing {
			return true
		}
	}
	return false
}
