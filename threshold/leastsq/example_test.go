package leastsq_test

import (
	"fmt"
	"math"

	"armcurve/threshold/leastsq"
)

// Volts that stop growing with speed: v = k·n/√(1+(n/c)²), with k in closed form
// and the corner speed c searched over five decades.
func ExampleFit() {
	rollOff := func(rpm []float64) leastsq.Model {
		return leastsq.Model{
			Columns: 1,
			Lo:      10, Hi: 1e6, Log: true,
			At: func(corner float64, _ []float64, columns [][]float64) {
				for i, n := range rpm {
					columns[0][i] = n / math.Sqrt(1+(n/corner)*(n/corner))
				}
			},
		}
	}
	m := rollOff([]float64{250, 500, 1000, 2000, 4000, 6000, 8000})
	volts := []float64{1.28, 2.50, 4.54, 6.96, 8.56, 9.00, 9.17}

	fit, err := leastsq.Fit(m, volts, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	errs := fit.StandardErrors()
	fmt.Printf("k = %.7f ± %.7f V/rpm, corner %.1f ± %.1f rpm\n", fit.Linear[0], errs[0], fit.Theta, errs[1])

	at := fit.Predict(rollOff([]float64{12000}), 1)[0]
	fmt.Printf("at 12000 rpm %.3f ± %.3f V\n", at.Value, fit.SD*math.Sqrt(at.Leverage))
	// Output:
	// k = 0.0051811 ± 0.0000027 V/rpm, corner 1814.6 ± 1.2 rpm
	// at 12000 rpm 9.296 ± 0.002 V
}
