package cli

import (
	"io"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/captures/teeth"
	"armcurve/cmd/internal/report"
	"armcurve/cmd/internal/setup"
)

// placeCopied is placeCam for a channel that shows little but the crank's wave; done
// where it was one.
func placeCopied(waves []report.MeasuredCapture, src source, kind csvfile.Kind, s *setup.Setup, k keeping) (done bool, err error) {
	crank, cam := both(waves)
	if s.Cam.Shaft != captures.Cam {
		return false, nil
	}
	evidence, is := teeth.CopiesCrank(*cam, *crank)
	mayBe := is
	if !is {
		evidence, mayBe = teeth.MayCopyCrank(*cam, *crank)
	}
	isPlayed := k.watch != nil || k.track
	if mayBe && isPlayed && crank.Wheel.Known() && src.name != standardInputName {
		if done, err := playOwn(waves, evidence, src, kind, s, k); done || err != nil {
			return true, err
		}
	}
	if is {
		cam.Disown(evidence)
	}
	return is, nil
}

// placeHidden is placeCam for a channel whose own wheel shows only once what it has of the
// crank's wave is taken off: that grows faster with speed than the own teeth do, and hides
// them at the top; done where it is one.
func placeHidden(waves []report.MeasuredCapture, src source, kind csvfile.Kind, s *setup.Setup, k keeping) (done bool, err error) {
	if k.watch == nil && !k.track || src.name == standardInputName {
		return false, nil
	}
	return playOwn(waves, hidden, src, kind, s, k)
}

// hidden is the evidence of that.
const hidden = "the wave holds the crank's: with it the cam's wheel does not show, or would turn at another speed than the crank; without what follows the crank's wave it does show, and turns with the crank"

// leastCoupled is the share of a channel's variance that comes of the crank's wave, at
// least, where its pulses pass for teeth.
const leastCoupled = 0.1

// playOwn plays such a channel over the cam's own teeth, which are found once what it has
// of the crank's is taken off; not done where they are not.
func playOwn(waves []report.MeasuredCapture, evidence string, src source, kind csvfile.Kind, s *setup.Setup, k keeping) (done bool, err error) {
	crank, cam := both(waves)
	own, is, err := measureOwn(*crank, src, kind, s)
	if err != nil || !is {
		return false, err
	}
	own.Findings = cam.Findings
	wheel, polarity, why := own.Wheel, own.Polarity, own.PolarityWhy
	own.Disown(evidence)
	own.Wheel, own.Polarity, own.PolarityWhy = wheel, polarity, why
	*cam = own
	if k.watch == nil {
		return true, nil
	}
	k.measured = map[playing]teeth.Measurement{{src.name, captures.Cam}: own}
	return true, readAgain(waves, src, kind, s, k)
}

// measureOwn measures a cam without the crank's wave in it: of the wheel that was stated,
// or that the crank's teeth show it to have.
func measureOwn(crank teeth.Measurement, src source, kind csvfile.Kind, s *setup.Setup) (own teeth.Measurement, is bool, err error) {
	var c teeth.Coupling
	err = withWave(src, kind, s, func(source captures.Source, cam, crankAt int) (err error) {
		c, is, err = teeth.FitCoupling(source, cam, crankAt, crank)
		return err
	})
	if err != nil || !is || !(c.Share > leastCoupled) {
		return own, false, err
	}
	options := teethOptions(s.Of(captures.Cam), captures.Cam)
	options.KeepTrack = true
	measure := func(source captures.Source, cam, crankAt int) (err error) {
		own, err = teeth.Measure(c.Uncoupled(source, cam, crankAt), options)
		return err
	}
	if err := withWave(src, kind, s, measure); err != nil {
		return own, false, err
	}
	if wheel, ok := teeth.CamWheel(own, crank); ok && !options.Wheel.Known() && !alike(wheel, own.Wheel) {
		options.Wheel = wheel
		if err := withWave(src, kind, s, measure); err != nil {
			return own, false, err
		}
		own.Stated = captures.Wheel{}
	}
	is = own.Signal == teeth.Reluctor && own.Polarity != teeth.Reversed && own.Wheel.Known() && !contradicts(own, crank)
	return own, is, nil
}

// withWave opens a file of both sensors once more.
func withWave(src source, kind csvfile.Kind, s *setup.Setup, do func(source captures.Source, cam, crank int) error) error {
	return withFile(src, func(whole io.Reader) error {
		list := wantedOf(s)
		source, err := openWave(whole, src.name, kind, s, list)
		if err != nil {
			return err
		}
		defer source.Close()
		at := map[string]int{}
		for i, w := range list {
			at[w.sensor] = i
		}
		return do(source, at[captures.Cam], at[captures.Crank])
	})
}
