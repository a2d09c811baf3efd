package replay

import (
	"fmt"
	"math"

	"armcurve/captures"
)

// TableRange is the kind of finding that tells of speeds for which a table has
// no rows.
const TableRange = "table-range"

// nearEnough is how far beyond a table's end a speed is still taken for it.
const nearEnough = 0.02

// reachFindings tell where the wave went beyond the table's rows, and what held
// there.
func (q *inquiry) reachFindings(out *Result) []captures.Finding {
	n := len(out.Table.Rows)
	if n == 0 || len(out.Bands) == 0 {
		return nil
	}
	first, last := out.Table.Rows[0], out.Table.Rows[n-1]
	lowRPM, highRPM := out.Bands[0].FromRPM, out.Bands[len(out.Bands)-1].ToRPM
	var list []captures.Finding
	if highRPM > (1+nearEnough)*last.RPM {
		beyond := q.which(func(f *fault) bool { return float64(f.rpm) > last.RPM })
		list = append(list, captures.Finding{
			Kind: TableRange, Severity: captures.Warning, FromRPM: captures.Some(last.RPM), ToRPM: captures.Some(highRPM),
			Text: fmt.Sprintf("the table has no row above %s: up to %s its last threshold was held, %s%s",
				speed(last.RPM), speed(highRPM), held(last.ThresholdV), beyond.amongThem(len(q.faults))),
			Advice: fmt.Sprintf("give the table a row at %.0f rpm or above", math.Ceil(highRPM/100)*100),
		})
	}
	if lowRPM < (1-nearEnough)*first.RPM {
		below := q.which(func(f *fault) bool { return float64(f.rpm) < first.RPM })
		list = append(list, captures.Finding{
			Kind: TableRange, Severity: captures.Warning, FromRPM: captures.Some(lowRPM), ToRPM: captures.Some(first.RPM),
			Text: fmt.Sprintf("the table has no row below %s: from %s on its first threshold was held, %s%s",
				speed(first.RPM), speed(lowRPM), held(first.ThresholdV), below.amongThem(len(q.faults))),
			Advice: "give the table a row at 0 rpm, from which every engine starts",
		})
	}
	return list
}

func held(v captures.Maybe) string {
	if !v.Known {
		return "which is none"
	}
	return volts(v.Value)
}

// amongThem tells how many of all faults some are.
func (h hits) amongThem(all int) string {
	if all == 0 {
		return ""
	}
	return fmt.Sprintf(", with %d of the %s", len(h), counted(all, "fault"))
}
