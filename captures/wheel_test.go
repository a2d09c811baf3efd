package captures

import (
	"math"
	"slices"
	"testing"
)

// Tooth counts and pitches are arithmetic: 60-2 has 58 teeth at 6°, 36-1 has 35
// at 10°, and so on.
func TestParseWheel(t *testing.T) {
	for _, want := range []struct {
		text     string
		present  int
		pitchDeg float64
		gapped   bool
	}{
		{"60-2", 58, 6, true},
		{"36-1", 35, 10, true},
		{"36-2", 34, 10, true},
		{"24-1", 23, 15, true},
		{"12-1", 11, 30, true},
		{"36-2-2-2", 30, 10, true},
		{"24", 24, 15, false},
		{"1", 1, 360, false},
	} {
		w, err := ParseWheel(want.text)
		if err != nil {
			t.Errorf("%s: %v", want.text, err)
			continue
		}
		if w.TeethPresent() != want.present || w.PitchDeg() != want.pitchDeg || w.Gapped() != want.gapped || w.String() != want.text {
			t.Errorf("%s: %d teeth at %v°, gapped %v, written %q; want %d, %v, %v", want.text, w.TeethPresent(), w.PitchDeg(), w.Gapped(), w, want.present, want.pitchDeg, want.gapped)
		}
	}
}

// The first tooth after the longest gap stands at place 0.
func TestWheelPositions(t *testing.T) {
	for text, want := range map[string][]int{
		"6-2":     {0, 1, 2, 3},
		"12-1-2":  {0, 1, 2, 3, 4, 6, 7, 8, 9},
		"8-1-1":   {0, 1, 2, 4, 5, 6},
		"4":       {0, 1, 2, 3},
		"2-1":     {0},
		" 6 - 2 ": {0, 1, 2, 3},
	} {
		w, err := ParseWheel(text)
		if err != nil || !slices.Equal(w.Positions, want) {
			t.Errorf("%s: teeth at %v, error %v; want %v", text, w.Positions, err, want)
		}
	}
}

func TestWheelByAngles(t *testing.T) {
	w, err := ParseWheel("@0,180,420")
	if err != nil || !slices.Equal(w.AnglesDeg, []float64{0, 180, 420}) || w.TeethPresent() != 3 || w.String() != "@0,180,420" {
		t.Errorf("got %+v, %v", w, err)
	}
	if !math.IsNaN(w.PitchDeg()) || w.Gapped() || !w.Known() {
		t.Errorf("pitch %v, gapped %v, known %v; want NaN, false, true", w.PitchDeg(), w.Gapped(), w.Known())
	}
	if (Wheel{}).Known() {
		t.Error("a wheel not stated is known")
	}
}

func TestWheelErrors(t *testing.T) {
	for text, want := range map[string]string{
		"":           `wheel is "": want teeth and missing teeth, such as 36-1, 36-2-2-2 or 24, or angles such as @0,180,420`,
		"36/1":       `wheel is "36/1": want teeth and missing teeth, such as 36-1, 36-2-2-2 or 24, or angles such as @0,180,420`,
		"36-0":       `wheel is "36-0": want teeth and missing teeth, such as 36-1, 36-2-2-2 or 24, or angles such as @0,180,420`,
		"2-2":        `wheel has 2 of 2 teeth missing: want at least one left`,
		"3600-1":     `wheel has 3600 teeth: want at most 720`,
		"12-5-1-1-1": `wheel 12-5-1-1-1: its gaps overlap`,
		"@":          `wheel is "@": want crank angles from 0 to below 720, such as @0,180,420`,
		"@0,720":     `wheel is "@0,720": want crank angles from 0 to below 720, such as @0,180,420`,
		"@90,45":     `wheel is "@90,45": want the angles in rising order`,
		"@0,NaN":     `wheel is "@0,NaN": want crank angles from 0 to below 720, such as @0,180,420`,
		"12-99999":   `wheel has 99999 of 12 teeth missing: want at least one left`,
	} {
		if w, err := ParseWheel(text); err == nil || err.Error() != want {
			t.Errorf("%q: got %v, %v\nwant %s", text, w, err, want)
		}
	}
}

// What is read is written as it can be read again, to the same wheel.
func FuzzParseWheel(f *testing.F) {
	for _, seed := range []string{"36-1", "36-2-2-2", "24", "@0,180,420", "60-2", "-", "@", "9999999999999999999"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		w, err := ParseWheel(text)
		if err != nil {
			return
		}
		again, err := ParseWheel(w.String())
		if err != nil || again.String() != w.String() || !slices.Equal(again.Positions, w.Positions) {
			t.Errorf("%q became %q, which became %q, %v", text, w, again, err)
		}
		if w.TeethPresent() < 1 {
			t.Errorf("%q has no tooth", text)
		}
	})
}
