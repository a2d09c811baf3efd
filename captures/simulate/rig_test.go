package simulate

import (
	"io"
	"testing"

	"armcurve/captures"
)

// testRig is a healthy sensor on the wheel, at 1000 rpm for half a second.
func testRig(t testing.TB, wheel string) Rig {
	t.Helper()
	w, err := captures.ParseWheel(wheel)
	if err != nil {
		t.Fatal(err)
	}
	return Rig{
		Name: "test", Seed: 1, SampleHz: 100e3, LengthS: 0.5, Speed: Steady(1000),
		Sensors: []Sensor{{
			Name: captures.Crank, Wheel: w, DiameterMM: 150, GapMM: 1, LinkageVS: 3e-3,
			Coil: Coil{ResistanceOhm: 850, InductanceH: 0.4, LoadOhm: 15e3},
		}},
	}
}

// record makes the whole capture and its truth.
func record(t testing.TB, rig Rig, blockLen int) ([][]float64, []Tooth) {
	t.Helper()
	source, err := Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	var teeth []Tooth
	source.Watch(func(tooth Tooth) { teeth = append(teeth, tooth) })
	source.SetBlock(blockLen)
	v := make([][]float64, len(rig.Sensors))
	var block captures.Block
	for source.Next(&block) != io.EOF {
		for i := range v {
			v[i] = append(v[i], block.V[i]...)
		}
	}
	return v, teeth
}
