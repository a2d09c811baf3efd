package cli

import (
	"errors"
	"fmt"
	"io"
	"slices"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/captures/teeth"
	"armcurve/captures/wavfile"
	"armcurve/cmd/internal/report"
	"armcurve/cmd/internal/setup"
	"armcurve/threshold"
)

// wanted is a sensor and the channel that shows it; "" for the only one.
type wanted struct{ sensor, channel string }

// wantedOf lists the channels that were stated; where none was, a file's only
// channel is that of the sensor the flags speak of.
func wantedOf(s *setup.Setup) []wanted {
	var list []wanted
	for _, sensor := range []string{captures.Crank, captures.Cam} {
		if channel := s.Of(sensor).Channel; channel != "" {
			list = append(list, wanted{sensor, channel})
		}
	}
	if list == nil {
		list = []wanted{{s.Sensor, ""}}
	}
	return list
}

// keeping says what is kept of a capture beyond its readings.
type keeping struct {
	teeth, revolutions bool
	// noiseOnly: the engine stands, and everything in the capture is noise.
	noiseOnly bool
	// pictures: what those of a page show is recorded.
	pictures bool
	// watch sees the wave of a sensor as it is measured; nil for nobody.
	watch func(sensor string, info captures.WaveInfo) teeth.Watcher
	// track: how the teeth passed, for the capture to be played again.
	track bool
	// measured is what a capture showed when it was measured before, with its
	// track; nil for none.
	measured map[playing]teeth.Measurement
}

// playing is a sensor in a capture.
type playing struct{ file, sensor string }

// measureWave measures the channels wanted of one capture, in one pass.
func measureWave(r io.Reader, name string, kind csvfile.Kind, s *setup.Setup, k keeping) ([]report.MeasuredCapture, captures.WaveInfo, error) {
	list := wantedOf(s)
	source, err := openWave(r, name, kind, s, list)
	if err != nil {
		return nil, captures.WaveInfo{}, err
	}
	defer source.Close()
	info := source.Info()
	if len(list) == 1 {
		m, err := measureOne(source, list[0].sensor, name, s, k)
		return []report.MeasuredCapture{m}, info, err
	}
	measured, err := measureEach(captures.Split(source), list, name, s, k)
	return measured, info, err
}

// measureEach measures every channel on a goroutine of its own.
func measureEach(parts []captures.Source, list []wanted, name string, s *setup.Setup, k keeping) ([]report.MeasuredCapture, error) {
	measured := make([]report.MeasuredCapture, len(list))
	errs := make(chan error, len(list))
	for i, part := range parts {
		go func() {
			m, err := measureOne(part, list[i].sensor, name, s, k)
			part.Close()
			measured[i] = m
			errs <- err
		}()
	}
	var first error
	for range parts {
		if err := <-errs; err != nil && first == nil {
			first = err
		}
	}
	return measured, first
}

func measureOne(source captures.Source, sensor, name string, s *setup.Setup, k keeping) (report.MeasuredCapture, error) {
	stated := s.Of(sensor)
	options := teethOptions(stated, sensor)
	options.NoiseOnly, options.KeepTeeth, options.KeepRevolutions, options.KeepTrack = k.noiseOnly, k.teeth, k.revolutions, k.track
	var watchers audience
	if k.watch != nil {
		watchers = append(watchers, k.watch(sensor, source.Info()))
	}
	var recording *report.Recording
	if k.pictures && !k.noiseOnly {
		recording = report.NewRecording(source.Info())
		source = recording.Of(source, stated.ArmsNegative)
		watchers = append(watchers, recording)
	}
	if len(watchers) > 0 {
		options.Watch = watchers
	}
	if m, is := k.measured[playing{name, sensor}]; is {
		return report.MeasuredCapture{Name: name, Measurement: m, Recording: recording}, m.Track.Play(source, options)
	}
	m, err := teeth.Measure(source, options)
	switch {
	case errors.Is(err, teeth.ErrNoWave):
		err = hint(err, "check the channel, the leads and the instrument's range; --channel chooses another")
	case errors.Is(err, teeth.ErrFewSamples):
		err = hint(err, "export the whole recording, two turns of the engine or more")
	}
	m.Findings = slices.Concat(m.Findings, source.Findings(), speedDoubt(m.Readings))
	for i := range m.Readings {
		m.Readings[i].Wheel = m.Wheel.String()
	}
	return report.MeasuredCapture{Name: name, Measurement: m, Recording: recording}, err
}

// Engine speeds that are hard to believe where they are the highest of a capture.
const leastRPM, mostRPM = 40, 20000

// speedDoubt tells of engine speeds that a slip in the unit of the time makes.
func speedDoubt(readings []captures.Reading) []captures.Finding {
	highest := 0.0
	for _, r := range readings {
		highest = max(highest, r.RPM)
	}
	if highest == 0 || highest >= leastRPM && highest <= mostRPM {
		return nil
	}
	return []captures.Finding{{
		Kind: threshold.UnitDoubt, Severity: captures.Warning, FromRPM: captures.Some(highest), ToRPM: captures.Some(highest),
		Text:   fmt.Sprintf("the engine turns at %.2g rpm at the most, which is hard to believe: the unit of the times is easily confused, and so is the wheel", highest),
		Advice: "state the unit with --time-unit, or the time between samples with --sample-interval; check the wheel",
	}}
}

// teethOptions are what is known of a sensor.
func teethOptions(s *setup.Sensor, sensor string) teeth.Options {
	return teeth.Options{
		Sensor: sensor, OnCam: s.Shaft == captures.Cam, Wheel: s.Wheel, Negative: s.ArmsNegative,
		Confidence: s.Confidence, CrankingRPM: s.CrankingRPM,
	}
}

// audience is several that follow one wave.
type audience []teeth.Watcher

func (a audience) Wave(first int64, v []float64) {
	for _, w := range a {
		w.Wave(first, v)
	}
}

func (a audience) Tooth(p teeth.Passage) {
	for _, w := range a {
		w.Tooth(p)
	}
}

func openWave(r io.Reader, name string, kind csvfile.Kind, s *setup.Setup, list []wanted) (captures.Source, error) {
	var channels []string
	for _, w := range list {
		if w.channel != "" {
			channels = append(channels, w.channel)
		}
	}
	c := s.Captures
	if kind == csvfile.Wave {
		return wavfile.Open(r, name, wavfile.Options{Channels: channels, FullScaleV: c.FullScaleV, VoltsTimes: c.VoltsTimes, Invert: c.Invert})
	}
	return csvfile.OpenSamples(r, name, csvfile.SamplesOptions{
		Dialect: c.Dialect, Channels: channels, TimeUnit: c.TimeUnit, VoltsUnit: c.VoltsUnit,
		SampleIntervalS: c.SampleIntervalS, VoltsTimes: c.VoltsTimes, Invert: c.Invert,
	})
}

// refusal is the finding for which nothing may be concluded from a capture;
// false where it is as good as any.
func refusal(m teeth.Measurement) (captures.Finding, bool) {
	f := captures.Finding{Severity: captures.Problem}
	switch {
	case m.Signal == teeth.Square || m.Signal == teeth.Other:
		f.Kind, f.Text = "not-a-reluctor", m.SignalWhy
		f.Advice = "no threshold table applies to this signal; check which sensor and which channel it is"
	case m.Polarity == teeth.Reversed:
		f.Kind, f.Text = "reversed-polarity", m.PolarityWhy
		f.Advice = "swap the sensor's two wires at the input, or state --invert if only the instrument's leads were swapped, and measure again"
	case len(m.Readings) == 0:
		if i := slices.IndexFunc(m.Findings, explainsNoReading); i >= 0 {
			return m.Findings[i], true
		}
		f.Kind, f.Text = "no-reading", "no tooth could be measured: "+m.SignalWhy
		f.Advice = "check the channel, the probe and the length of the record: two whole turns or more"
	default:
		return captures.Finding{}, false
	}
	// The measurement may have said it better, with its numbers.
	for _, own := range m.Findings {
		if own.Kind == f.Kind {
			return own, true
		}
	}
	return f, true
}

// explainsNoReading tells that a finding is why no speed could have a reading.
func explainsNoReading(f captures.Finding) bool { return isCopied(f) || f.Kind == "wheel-unknown" }

// isCopied tells that a channel shows little but another sensor's wave.
func isCopied(f captures.Finding) bool {
	return f.Kind == "cross-talk" && f.Severity == captures.Problem
}
