package simulate

import (
	"io"
	"testing"

	"armcurve/captures"
)

// BenchmarkNext tells how many samples a second are made: a pull of a 36-1
// wheel with ripple, noise and sparks, at 100 kHz.
func BenchmarkNext(b *testing.B) {
	rig := testRig(b, "36-1")
	rig.Speed, rig.Ripple = Pull(800, 7000, 4), Ripple{0.3, 200, 4}
	rig.LengthS = 4
	rig.Sensors[0].Noise = []Noise{{SigmaV: 0.02, RateHz: 12000}}
	rig.Sensors[0].Sparks = []Spark{{AnglesDeg: []float64{30, 210, 390, 570}, HeightV: 2, AtRPM: 6000, Power: 2, RingHz: 9000, DecayS: 1e-4}}
	samples := 0
	for b.Loop() {
		source, err := Open(rig)
		if err != nil {
			b.Fatal(err)
		}
		var block captures.Block
		for source.Next(&block) != io.EOF {
			samples += block.Len()
		}
	}
	b.ReportMetric(float64(samples)/b.Elapsed().Seconds(), "samples/s")
}
