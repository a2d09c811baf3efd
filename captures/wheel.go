package captures

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Wheel is a toothed wheel. Teeth sit on equal pitches with gaps where some
// are missing ("36-1", "60-2", "36-2-2-2", "24"), or at given angles
// ("@0,180,420", crank degrees over the wheel's whole turn).
type Wheel struct {
	// Pitches is the number of tooth places on the wheel, missing ones
	// counted; 0 for a wheel given by angles or not known.
	Pitches int
	// Missing has the number of missing teeth of each gap, in order of
	// rotation; empty for a wheel without a gap.
	Missing []int
	// Positions has the place of each tooth present, in pitches 0…Pitches−1;
	// the first tooth after the longest gap is at 0. Nil for a wheel by angles.
	Positions []int
	// AnglesDeg has the crank angles of the teeth, for a wheel by angles.
	AnglesDeg []float64
}

// maxPitches bounds what is still a wheel and not a slip of the finger.
const maxPitches = 720

// ParseWheel reads a wheel as people write it. Gaps of a wheel with several
// are taken as spread evenly unless they would overlap; the error says what is
// wrong with the text.
func ParseWheel(text string) (Wheel, error) {
	text = strings.TrimSpace(text)
	if rest, byAngle := strings.CutPrefix(text, "@"); byAngle {
		return parseAngles(rest)
	}
	fields := strings.Split(text, "-")
	numbers := make([]int, len(fields))
	for i, field := range fields {
		n, err := strconv.Atoi(strings.TrimSpace(field))
		if err != nil || n < 1 {
			return Wheel{}, fmt.Errorf("wheel is %q: want teeth and missing teeth, such as 36-1, 36-2-2-2 or 24, or angles such as @0,180,420", text)
		}
		numbers[i] = n
	}
	return NewWheel(numbers[0], numbers[1:])
}

// NewWheel returns the wheel with the given number of pitches and the missing
// teeth of each gap.
func NewWheel(pitches int, missing []int) (Wheel, error) {
	if pitches > maxPitches {
		return Wheel{}, fmt.Errorf("wheel has %d teeth: want at most %d", pitches, maxPitches)
	}
	gone := 0
	for _, m := range missing {
		gone += m
	}
	if gone >= pitches {
		return Wheel{}, fmt.Errorf("wheel has %d of %d teeth missing: want at least one left", gone, pitches)
	}
	w := Wheel{Pitches: pitches, Missing: append([]int(nil), missing...)}
	w.Positions = positions(pitches, missing)
	if len(w.Positions) != pitches-gone {
		return Wheel{}, fmt.Errorf("wheel %s: its gaps overlap", w)
	}
	return w, nil
}

// positions puts the ends of the gaps evenly around the wheel, the longest gap
// ending at place 0.
func positions(pitches int, missing []int) []int {
	longest := 0
	for i, m := range missing {
		if m > missing[longest] {
			longest = i
		}
	}
	empty := make([]bool, pitches)
	for i := range missing {
		end := i * pitches / len(missing)
		for k := 1; k <= missing[(longest+i)%len(missing)]; k++ {
			empty[((end-k)%pitches+pitches)%pitches] = true
		}
	}
	var places []int
	for place, isEmpty := range empty {
		if !isEmpty {
			places = append(places, place)
		}
	}
	return places
}

func parseAngles(text string) (Wheel, error) {
	var w Wheel
	for field := range strings.SplitSeq(text, ",") {
		a, err := strconv.ParseFloat(strings.TrimSpace(field), 64)
		if err != nil || !(a >= 0 && a < 720) {
			return Wheel{}, fmt.Errorf("wheel is \"@%s\": want crank angles from 0 to below 720, such as @0,180,420", text)
		}
		if n := len(w.AnglesDeg); n > 0 && a <= w.AnglesDeg[n-1] {
			return Wheel{}, fmt.Errorf("wheel is \"@%s\": want the angles in rising order", text)
		}
		w.AnglesDeg = append(w.AnglesDeg, a)
	}
	return w, nil
}

// Known tells whether the wheel was stated or found.
func (w Wheel) Known() bool { return w.Pitches > 0 || len(w.AnglesDeg) > 0 }

// TeethPresent is the number of teeth on the wheel, missing ones not counted.
func (w Wheel) TeethPresent() int {
	if w.Pitches == 0 {
		return len(w.AnglesDeg)
	}
	return len(w.Positions)
}

// Gapped tells whether teeth are missing.
func (w Wheel) Gapped() bool { return len(w.Missing) > 0 }

// PitchDeg is the angle of one pitch in degrees of the wheel; NaN for a wheel
// by angles.
func (w Wheel) PitchDeg() float64 {
	if w.Pitches == 0 {
		return math.NaN()
	}
	return 360 / float64(w.Pitches)
}

// String writes the wheel as ParseWheel reads it; "" when not known.
func (w Wheel) String() string {
	var b strings.Builder
	if w.Pitches > 0 {
		b.WriteString(strconv.Itoa(w.Pitches))
		for _, m := range w.Missing {
			fmt.Fprintf(&b, "-%d", m)
		}
		return b.String()
	}
	for i, a := range w.AnglesDeg {
		b.WriteString(map[bool]string{true: "@", false: ","}[i == 0])
		b.WriteString(strconv.FormatFloat(a, 'f', -1, 64))
	}
	return b.String()
}
