package cli

import (
	"fmt"
	"io"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/captures/teeth"
	"armcurve/cmd/internal/report"
	"armcurve/cmd/internal/setup"
)

// seekTurning adds to captures given as those of the stopped engine that a wheel
// turns in them: its teeth would be taken for noise, and leave no room for a
// threshold. The wheel is looked for without what was stated of it, and believed by
// its gap, which no tone has.
func seekTurning(still []report.MeasuredCapture, src source, kind csvfile.Kind, s *setup.Setup) {
	unstated := *s
	unstated.Crank.Wheel, unstated.Cam.Wheel = captures.Wheel{}, captures.Wheel{}
	var waves []report.MeasuredCapture
	err := withFile(src, func(whole io.Reader) (err error) {
		waves, _, err = measureWave(whole, src.name, kind, &unstated, keeping{})
		return err
	})
	if err != nil {
		return // as noise it was measured all the same
	}
	for i, w := range waves {
		if m := w.Measurement; m.Signal == teeth.Reluctor && m.Wheel.Gapped() {
			still[i].Measurement.Findings = append(still[i].Measurement.Findings, captures.Finding{
				Kind: "noise-turns", Severity: captures.Problem,
				Text:   fmt.Sprintf("a %s wheel turns in what was given as noise: its teeth are taken for noise", m.Wheel),
				Advice: "give it without --noise; noise is captured with the engine stopped and the ignition on",
			})
		}
	}
}
