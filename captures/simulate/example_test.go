package simulate_test

import (
	"fmt"
	"io"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// A steady 36-1 wheel for a tenth of a second, and its truth.
func ExampleOpen() {
	wheel, err := captures.ParseWheel("36-1")
	if err != nil {
		fmt.Println(err)
		return
	}
	source, err := simulate.Open(simulate.Rig{
		Name: "steady", Seed: 1, SampleHz: 100e3, LengthS: 0.1, Speed: simulate.Steady(1200),
		Sensors: []simulate.Sensor{{
			Name: captures.Crank, Wheel: wheel, DiameterMM: 150, GapMM: 1, LinkageVS: 3e-3,
			Noise: []simulate.Noise{{SigmaV: 0.01, RateHz: 8000}},
		}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	truth := simulate.Listen(source)
	var block captures.Block
	samples := 0
	for source.Next(&block) != io.EOF {
		samples += block.Len()
	}
	first := truth.Teeth[0]
	fmt.Printf("%d samples, %d teeth; tooth %d falls at %.6f s after %.2f V\n",
		samples, len(truth.Teeth), first.Number, first.TimeS, first.PeakV)
	// Output: 10000 samples, 69 teeth; tooth 2 falls at 0.001389 s after 4.68 V
}
