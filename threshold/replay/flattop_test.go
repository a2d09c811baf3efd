package replay

import "testing"

// TestFlatByShape: tops that are flat at any height are the teeth's own, those that are
// flat only at the highest are cut off.
func TestFlatByShape(t *testing.T) {
	missed := func(lowFlags flags) (list hits) {
		for i := range 20 {
			f := &fault{heightV: 6, thresholdV: 11, flags: lowFlags}
			if i >= 10 {
				f.heightV, f.flags = 10, flatTop
			}
			list = append(list, f)
		}
		return list
	}
	if !areFlatByShape(missed(flatTop), 10) {
		t.Error("flat at any height: taken for cut off")
	}
	if areFlatByShape(missed(0), 10) {
		t.Error("flat at the highest only: taken for the shape of the teeth")
	}
}
