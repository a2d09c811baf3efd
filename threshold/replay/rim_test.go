package replay

import (
	"math"
	"slices"
	"testing"
)

// rimWith is the rim of a wheel with a gap before tooth 1, whose heights swing
// once a turn and whose odd teeth rise to a part of that.
func rimWith(teeth int, swing float64, odd map[int]float64) *rim {
	slots, places := make([]slot, teeth), make([]float64, teeth)
	for k := range slots {
		places[k] = float64(k) / float64(teeth+1)
		height := 1 + swing*math.Cos(2*math.Pi*places[k]) + 0.004*math.Sin(float64(7*k))
		if part, is := odd[k+1]; is {
			height *= part
		}
		slots[k].learn(height, k == 0)
	}
	return rimOf(slots, places)
}

// Short teeth are found on wheels of many teeth and of few, whatever the run-out
// and wherever they stand, and none where there is none.
func TestShortTeeth(t *testing.T) {
	for _, teeth := range []int{11, 23, 35, 58} {
		for _, swing := range []float64{0, 0.1, 0.25, 0.55} {
			for first := 2; first < teeth; first++ {
				want := []int{first}
				odd := map[int]float64{first: 0.45}
				if second := (first+teeth/3)%teeth + 1; first%2 == 0 && second > 1 && second < teeth {
					odd[second] = 0.6
					want = append(want, second)
				}
				slices.Sort(want)
				checkShort(t, rimWith(teeth, swing, odd), swing, want)
			}
			checkShort(t, rimWith(teeth, swing, nil), swing, nil)
		}
	}
}

func checkShort(t *testing.T, r *rim, swing float64, want []int) {
	t.Helper()
	var got []int
	for k, is := range r.short {
		if is {
			got = append(got, k+1)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("of %d teeth, swing %.2f: short are %v, want %v", len(r.level), swing, got, want)
	}
	if math.Abs(r.amount-swing) > 0.015 {
		t.Errorf("of %d teeth, short %v: the swing is %.3f, want %.3f", len(r.level), want, r.amount, swing)
	}
}
