package cli

import (
	"fmt"
	"io"
	"math"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/captures/teeth"
	"armcurve/cmd/internal/report"
	"armcurve/cmd/internal/setup"
)

// placeCam gives the cam in a capture of both the wheel that the crank's teeth
// show it to have, if none was stated: the file is read once more with that. What
// a stream cannot give again, and a cam that contradicts its crank, is not
// believed.
func placeCam(waves []report.MeasuredCapture, src source, kind csvfile.Kind, s *setup.Setup, k keeping) error {
	crank, cam := both(waves)
	if crank == nil || cam == nil {
		return nil
	}
	if done, err := placeCopied(waves, src, kind, s, k); done || err != nil {
		return err
	}
	if s.Cam.Wheel.Known() || s.Cam.Shaft != captures.Cam || !crank.Wheel.Known() {
		return nil
	}
	wheel, ok := teeth.CamWheel(*cam, *crank)
	if ok && alike(wheel, cam.Wheel) {
		place(cam, wheel)
		return nil
	}
	isPlaced := ok && src.name != standardInputName
	if isPlaced {
		if err := measureAgain(waves, wheel, src, kind, s, k); err != nil {
			return err
		}
	}
	if !cam.Wheel.Known() || contradicts(*cam, *crank) {
		if done, err := placeHidden(waves, src, kind, s, k); done || err != nil {
			return err
		}
	}
	if isPlaced {
		return nil
	}
	if contradicts(*cam, *crank) {
		cam.Findings = append(cam.Findings, captures.Finding{
			Kind: "wheel-unknown", Severity: captures.Problem,
			Text:   fmt.Sprintf("taken for %s the cam turns at another speed than the crank beside it: it has another wheel", cam.Wheel),
			Advice: "state the cam's wheel",
		})
		cam.Wheel, cam.Readings = captures.Wheel{}, nil
		cam.WheelWhy = "what was found contradicts the crank's speed"
	}
	return nil
}

// alike tells that two wheels are the same, or have as many teeth at nearly the
// same angles.
func alike(a, b captures.Wheel) bool {
	const nearDeg = 2
	if len(a.AnglesDeg) == 0 || len(a.AnglesDeg) != len(b.AnglesDeg) {
		return a.String() == b.String()
	}
	for i := range a.AnglesDeg {
		if math.Abs(a.AnglesDeg[i]-b.AnglesDeg[i]) > nearDeg {
			return false
		}
	}
	return true
}

func both(waves []report.MeasuredCapture) (crank, cam *teeth.Measurement) {
	for i := range waves {
		switch m := &waves[i].Measurement; m.Sensor {
		case captures.Crank:
			crank = m
		case captures.Cam:
			cam = m
		}
	}
	return crank, cam
}

// measureAgain measures a file once more, the cam's wheel being known.
func measureAgain(waves []report.MeasuredCapture, wheel captures.Wheel, src source, kind csvfile.Kind, s *setup.Setup, k keeping) error {
	known := *s
	known.Cam.Wheel = wheel
	if err := readAgain(waves, src, kind, &known, k); err != nil {
		return err
	}
	if _, cam := both(waves); cam.Wheel.Known() {
		place(cam, wheel)
	}
	return nil
}

// readAgain reads a file once more.
func readAgain(waves []report.MeasuredCapture, src source, kind csvfile.Kind, s *setup.Setup, k keeping) error {
	return withFile(src, func(whole io.Reader) error {
		again, _, err := measureWave(whole, src.name, kind, s, k)
		if err == nil {
			copy(waves, again)
		}
		return err
	})
}

// withFile opens a file once more, unpacked where it is packed.
func withFile(src source, do func(whole io.Reader) error) error {
	r, err := src.open()
	if err != nil {
		return err
	}
	defer r.Close()
	_, whole, err := csvfile.Unpack(r)
	if err != nil {
		return fileError(src.name, err)
	}
	return do(whole)
}

// place notes by what a cam's teeth were placed: nobody stated them.
func place(cam *teeth.Measurement, wheel captures.Wheel) {
	cam.Wheel, cam.Stated = wheel, captures.Wheel{}
	cam.WheelWhy += "; its teeth were placed by the crank's"
	for i := range cam.Readings {
		cam.Readings[i].Wheel = wheel.String()
	}
}

// contradicts tells that a cam was measured at speeds that the crank never had.
func contradicts(cam, crank teeth.Measurement) bool {
	const most = 0.03
	lowest, highest := math.Inf(1), 0.0
	for _, r := range crank.Readings {
		lowest, highest = min(lowest, r.RPM), max(highest, r.RPM)
	}
	for _, r := range cam.Readings {
		if r.RPM > 0 && (r.RPM < lowest*(1-most) || r.RPM > highest*(1+most)) {
			return true
		}
	}
	return false
}
