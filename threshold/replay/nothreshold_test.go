package replay

import (
	"strings"
	"testing"

	"armcurve/captures"
)

// TestNoThreshold: where a table has no threshold that alone is why nothing is
// counted, and no tooth is said to be too low for it.
func TestNoThreshold(t *testing.T) {
	w, s := recorded(t, "ignition-spikes")
	o := optionsOf(t, s)
	rows := o.Tables[0].Rows
	rows[len(rows)-1].ThresholdV = captures.Maybe{}
	res, err := w.feed(t, o, 1<<14).Result(0, Facts{Signal: "reluctor"})
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Causes) == 0 || res.Causes[0].Kind != NoThreshold || !strings.HasPrefix(res.Causes[0].Evidence, "the table has no threshold from ") {
		t.Fatalf("%+v", res.Causes)
	}
	for _, c := range res.Causes[1:] {
		if c.Kind == AmplitudeBelow {
			t.Errorf("%+v", c)
		}
	}
}
