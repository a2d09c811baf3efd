package threshold

import (
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
)

// TestOddTables: tables of no rows, of one, beyond the limit, of fine and huge
// steps and of limits that nothing fits between are judged and mended without a
// panic, and never to a worse score.
func TestOddTables(t *testing.T) {
	r := rand.New(rand.NewPCG(10, 1))
	for n := range 80 {
		i := invent(r)
		i.options.Input.StepV = math.Pow(10, -4+5*r.Float64())
		i.options.Input.MinV, i.options.Input.MaxV = captures.Maybe{}, captures.Maybe{}
		if r.IntN(3) == 0 {
			i.options.Input.MinV = captures.Some(math.Pow(10, -3+4*r.Float64()))
		}
		i.options.Axis.Auto, i.options.Axis.Best = r.IntN(4) == 0, r.IntN(4) == 0
		i.options.Axis.StepRPM = math.Pow(10, 3*r.Float64())
		s := i.sensor(t)
		var rows []Row
		rpm := 3000 * r.Float64() * float64(r.IntN(2))
		for range r.IntN(6) {
			row := Row{RPM: rpm}
			if r.IntN(8) > 0 {
				row.ThresholdV = captures.Some(math.Pow(10, -4+6*r.Float64()))
			}
			rows = append(rows, row)
			rpm += 1e-9 + 4000*r.Float64()*float64(r.IntN(3))
		}
		table := NewTable(rows, i.options.Input.BetweenRows)
		before := s.Check(table)
		after := s.Repair(table)
		if is := after.Judgement.Worst.Score; is < before.Judgement.Worst.Score*(1-1e-8) {
			t.Errorf("sensor %d: %v repaired from worst score %v to %v", n, table, before.Judgement.Worst.Score, is)
		}
		if n%4 == 0 {
			speeds, _ := s.axis()
			for j, rpm := range speeds {
				if j > 0 && rpm <= speeds[j-1] {
					t.Errorf("sensor %d: speeds %v", n, speeds)
				}
			}
			s.proposeAt(speeds)
		}
	}
}
