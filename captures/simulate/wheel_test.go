package simulate

import (
	"slices"
	"testing"

	"armcurve/captures"
)

func TestUnevenWheel(t *testing.T) {
	w, err := UnevenWheel(12, Gap{2, 1}, Gap{5, 2})
	if err != nil {
		t.Fatal(err)
	}
	// By the mark: teeth at 0 1 3 4 7 8 9 10 11; the longest gap ends at 7.
	if want := []int{0, 1, 2, 3, 4, 5, 6, 8, 9}; !slices.Equal(w.Positions, want) {
		t.Errorf("teeth at %v, want %v", w.Positions, want)
	}
	if w.String() != "12-1-2" || w.TeethPresent() != 9 {
		t.Errorf("wheel %s with %d teeth", w, w.TeethPresent())
	}
}

// Gaps put evenly give the wheel that its text means.
func TestUnevenWheelPutEvenly(t *testing.T) {
	got, err := UnevenWheel(36, Gap{4, 2}, Gap{16, 2}, Gap{28, 2})
	if err != nil {
		t.Fatal(err)
	}
	want, err := captures.ParseWheel("36-2-2-2")
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got.Positions, want.Positions) {
		t.Errorf("teeth at %v, want %v", got.Positions, want.Positions)
	}
}

func TestUnevenWheelRefuses(t *testing.T) {
	for _, gaps := range [][]Gap{
		{{0, 0}}, {{-1, 2}}, {{0, 36}}, {{3, 2}, {4, 1}}, {{3, 2}, {5, 1}}, {{9, 1}, {3, 1}}, {{3, 1}, {30, 9}},
	} {
		if w, err := UnevenWheel(36, gaps...); err == nil {
			t.Errorf("gaps %v give %v", gaps, w.Positions)
		}
	}
}
