package rims

import (
	"math"
	"slices"
	"testing"
)

// rimWith is the rim of a wheel with a gap before tooth 1, whose heights swing
// once a turn and whose odd teeth rise to a part of that.
func rimWith(teeth int, swing float64, odd map[int]float64) *Rim {
	return rimOfHeights(teeth, odd, func(at float64) float64 { return 1 + swing*math.Cos(2*math.Pi*at) })
}

// rimOfHeights is the same with any heights over the turn.
func rimOfHeights(teeth int, odd map[int]float64, height func(at float64) float64) *Rim {
	level, places, beside := make([]float64, teeth), make([]float64, teeth), make([]bool, teeth)
	beside[0], beside[teeth-1] = true, true
	for k := range level {
		places[k] = float64(k) / float64(teeth+1)
		v := height(places[k]) + 0.004*math.Sin(float64(7*k))
		if part, is := odd[k+1]; is {
			v *= part
		}
		level[k] = v
	}
	return Of(level, places, beside)
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

func shortTeeth(r *Rim) (teeth []int) {
	for k, is := range r.Short {
		if is {
			teeth = append(teeth, k+1)
		}
	}
	return teeth
}

func checkShort(t *testing.T, r *Rim, swing float64, want []int) {
	t.Helper()
	if got := shortTeeth(r); !slices.Equal(got, want) {
		t.Errorf("of %d teeth, swing %.2f: short are %v, want %v", len(r.Level), swing, got, want)
	}
	if r.Twice {
		t.Errorf("of %d teeth, swing %.2f, short %v: twice a turn", len(r.Level), swing, want)
	}
	if math.Abs(r.Amount-swing) > 0.015 {
		t.Errorf("of %d teeth, short %v: the swing is %.3f, want %.3f", len(r.Level), want, r.Amount, swing)
	}
}

// An oval wheel's heights swing twice a turn: no tooth of it is short, but for those
// that are.
func TestOvalWheel(t *testing.T) {
	for _, teeth := range []int{11, 23, 35, 58} {
		for _, size := range []float64{0.1, 0.3, 0.5} {
			for _, odd := range []map[int]float64{nil, {5: 0.5}} {
				if odd != nil && teeth < 16 {
					continue // too few to tell both
				}
				r := rimOfHeights(teeth, odd, func(at float64) float64 { return 1 + size*math.Cos(4*math.Pi*(at-0.1)) })
				if !r.Twice || math.Abs(r.Amount-size) > 0.02 {
					t.Errorf("of %d teeth, %.2f twice a turn, odd %v: ±%.3f, twice %v", teeth, size, odd, r.Amount, r.Twice)
				}
				for k, is := range r.Short {
					if _, want := odd[k+1]; is != want {
						t.Errorf("of %d teeth, %.2f twice a turn, odd %v: tooth %d short is %v", teeth, size, odd, k+1, is)
					}
				}
				if len(r.Lowest) != 2 {
					t.Errorf("of %d teeth, %.2f twice a turn: lowest are %v", teeth, size, r.Lowest)
				}
			}
		}
	}
}

// A gap lowers the tooth before it by less than it raises the one behind it: what is
// lower is short, and so is a low one behind the gap.
func TestShortBesideGap(t *testing.T) {
	for _, teeth := range []int{11, 35, 58} {
		for _, c := range []struct {
			first, last float64
			want        []int
		}{
			{1.3, 0.85, nil},
			{1.08, 0.55, []int{teeth}},
			{0.68, 0.99, []int{1}},
			{1.02, 0.97, nil},
		} {
			checkShort(t, rimWith(teeth, 0, map[int]float64{1: c.first, teeth: c.last}), 0, c.want)
			if r := rimWith(teeth, 0.2, map[int]float64{1: c.first, teeth: c.last}); !slices.Equal(shortTeeth(r), c.want) {
				t.Errorf("of %d teeth that run out, %v: short are %v", teeth, c, shortTeeth(r))
			}
		}
	}
}
