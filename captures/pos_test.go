package captures

import (
	"encoding/json"
	"math"
	"slices"
	"testing"
)

func TestPosString(t *testing.T) {
	for _, c := range []struct {
		pos  Pos
		want string
	}{
		{Pos{File: "run.csv"}, "run.csv"},
		{Pos{File: "run.csv", Line: 41}, "run.csv:41"},
		{Pos{File: "run.csv", Line: 41, Column: 7}, "run.csv:41:7"},
		{Pos{File: "pull.csv", AtS: Some(3.42)}, "pull.csv at 3.42 s"},
	} {
		if got := c.pos.String(); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestPosLess(t *testing.T) {
	sorted := []Pos{{File: "a", Line: 2}, {File: "a", Line: 10, Column: 1}, {File: "a", Line: 10, Column: 3}, {File: "b"}, {File: "b", AtS: Some(2)}}
	got := slices.Clone(sorted)
	slices.Reverse(got)
	slices.SortFunc(got, func(p, q Pos) int {
		if p.Less(q) {
			return -1
		}
		return 1
	})
	if !slices.Equal(got, sorted) {
		t.Errorf("sorted to %v", got)
	}
}

// Unknown is null in JSON and never 0.
func TestMaybe(t *testing.T) {
	text, err := json.Marshal([]Maybe{{}, Some(0), Some(1.5), Finite(math.NaN()), Finite(math.Inf(-1)), Finite(2)})
	if want := "[null,0,1.5,null,null,2]"; err != nil || string(text) != want {
		t.Errorf("got %s, %v; want %s", text, err, want)
	}
	if (Maybe{}).Or(3) != 3 || Some(2).Or(3) != 2 || Some(2).Times(4) != Some(8) || (Maybe{}).Times(4).Known {
		t.Error("Or or Times")
	}
}
