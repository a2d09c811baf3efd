package cli

import (
	"errors"
	"fmt"
	"slices"
	"sync"
	"unsafe"

	"github.com/spf13/cobra"

	"armcurve/captures"
	"armcurve/captures/teeth"
	"armcurve/cmd/internal/report"
	"armcurve/cmd/internal/setup"
	"armcurve/threshold"
	"armcurve/threshold/replay"
)

func newInvestigate(streams Streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "investigate CAPTURE... [--table T]",
		Short: "Which teeth would be missed or falsely counted, and why",
		Long: `Investigate plays a capture through the input with its table of thresholds:
which teeth it would have missed, what it would have counted that is none, at
which speeds, and why. The same symptom has opposite cures, and half the time
the threshold is not the cause. Without --table it plays the table that propose
would give for the same captures.

Exit: 0 clear, 1 a fault was found, 2 bad input.`,
		Example: "  armcurve investigate pull.csv --table table.csv\n  armcurve investigate --channel crank=A,cam=B pull.csv --format json --events",
		Args:    files,
	}
	var table tableFlag
	v := investigation{players: map[playing]*player{}}
	cmd.Flags().Var(&table, "table", "the `table` that is in use: a CSV file, or typed out as rpm=volts,...")
	cmd.Flags().BoolVar(&v.events, "events", false, "list every miss and every false event in the JSON")
	v.job = newJob(streams, cmd)
	cmd.RunE = func(_ *cobra.Command, args []string) error { return v.run(string(table), args) }
	return cmd
}

// investigation plays captures while they are measured.
type investigation struct {
	*job
	events bool

	mutex   sync.Mutex
	tables  map[string]threshold.Table // by sensor
	players map[playing]*player
}

// player passes a wave on to a replay, if its sensor has a table, and keeps where
// the teeth were and some of the wave, for another sensor's replay.
type player struct {
	replay    *replay.Replay
	playback  *report.Playback // for pictures; nil for none
	strips    *replay.Strips   // nil where no other sensor was recorded
	track     *teeth.Track     // where the teeth are known from; nil: they are kept here
	crossings []float64
	err       error
}

// keeps is what is kept here of each tooth, bytes.
func (p *player) keeps() int {
	switch {
	case p.track != nil:
		return teeth.TrackBytes
	case p.strips != nil:
		return int(unsafe.Sizeof(p.crossings[0]))
	}
	return 0
}

// falls are the positions of the teeth seen.
func (p *player) falls() []float64 {
	if p.track != nil {
		return p.track.Falls()
	}
	return p.crossings
}

func (p *player) Wave(first int64, v []float64) {
	if p.strips != nil {
		p.strips.Wave(first, v)
	}
	if p.replay != nil {
		p.replay.Wave(first, v)
	}
}

func (p *player) Tooth(t teeth.Passage) {
	if t.Seen && p.strips != nil && p.track == nil {
		p.crossings = append(p.crossings, t.At)
	}
	if p.replay != nil {
		p.replay.Tooth(t.Tooth, t.Seen, t.At, t.RestV)
	}
}

func (v *investigation) run(table string, names []string) error {
	inputs := slices.Concat(names, v.noise)
	if table != "" {
		inputs = append(inputs, table)
	}
	if err := v.begin(inputs); err != nil {
		return err
	}
	m, note, err := v.play(table, names)
	if err != nil {
		return err
	}
	proposed := v.proposed(m)
	list, err := v.results(m, proposed)
	if err != nil {
		return err
	}
	c := v.context(m, nil, nil)
	v.tellRefused(&c, m, table == "")
	if note != "" {
		c.Assumed = append([]string{note}, c.Assumed...)
	}
	if err := v.output.write(v.streams, result{report.Investigated(list, c), func() any { return report.InvestigateJSON(list, c) }}); err != nil {
		return err
	}
	if len(c.Missing) > 0 || slices.ContainsFunc(list, func(i report.InvestigatedCapture) bool { return i.Result.Verdict != threshold.Clear }) {
		return errNotClear
	}
	return nil
}

// tellRefused tells why a sensor could not be measured: of one that was played as a
// finding; of one for which no table could be proposed, that nothing is said of it.
func (v *investigation) tellRefused(c *report.Context, m measured, proposing bool) {
	for _, r := range m.refused {
		_, played := v.tables[r.Sensor]
		switch {
		case played && explainsNoReading(r.Finding):
			c.Findings = append(c.Findings, r.Finding)
		case !played && proposing:
			c.Missing = append(c.Missing, r)
		}
	}
}

// play reads the captures and plays the given table; without one they are read
// once more, to play the one that the first reading proposes over the teeth that
// it found.
func (v *investigation) play(table string, names []string) (m measured, note string, err error) {
	if table == "" {
		return v.playProposed(names)
	}
	given, err := readTable(table, &v.setup)
	if err != nil {
		return m, "", err
	}
	v.tables = v.givenTables(given)
	v.keeping.watch = v.watch
	m, err = v.read(names)
	if err != nil {
		return m, "", err
	}
	m.readAs = append(m.readAs, given.readAs())
	return m, "", wantWaves(m)
}

func (v *investigation) playProposed(names []string) (measured, string, error) {
	if slices.Contains(names, standardInput) {
		return measured{}, "", hint(errors.New("the standard input can be read only once: want --table"),
			"without --table a capture is read twice, to measure it and to play the table proposed: save it to a file, or give the table")
	}
	first := v.keeping
	v.keeping.pictures, v.keeping.track = false, true
	m, err := v.read(names)
	if err != nil {
		return m, "", err
	}
	if err := wantWaves(m); err != nil {
		return m, "", err
	}
	v.tables = v.proposed(m)
	v.keeping = first
	v.keeping.watch, v.keeping.measured = v.watch, v.tracked(m.waves)
	again, err := v.read(names)
	m.waves = again.waves
	return m, "no table was given: the one played is what propose gives for these captures (--table)", err
}

// tracked are the captures that can be played without being measured again: all but
// those of noise.
func (v *investigation) tracked(waves []report.MeasuredCapture) map[playing]teeth.Measurement {
	all := map[playing]teeth.Measurement{}
	for _, w := range waves {
		if !slices.Contains(v.noise, w.Name) {
			all[playing{w.Name, w.Measurement.Sensor}] = w.Measurement
		}
	}
	return all
}

func wantWaves(m measured) error {
	if len(m.waves) > 0 {
		return nil
	}
	return hint(fmt.Errorf("%s: these are readings already; want captures", m.lists[0]), "armcurve check --table T "+m.lists[0]+" judges a table against readings")
}

// givenTables are the given one's rows for each sensor; a table without a
// column for it is that of the sensor the flags speak of.
func (v *investigation) givenTables(given givenTable) map[string]threshold.Table {
	tables := map[string]threshold.Table{}
	for _, name := range []string{captures.Crank, captures.Cam} {
		if !given.NamesSensors() && name != v.setup.Sensor {
			continue
		}
		if t := given.of(v.setup.Of(name), name); len(t.Rows) > 0 {
			tables[name] = t
		}
	}
	return tables
}

// proposed are the tables that the readings propose, by sensor; none where they
// are too few.
func (v *investigation) proposed(m measured) map[string]threshold.Table {
	tables := map[string]threshold.Table{}
	for _, s := range m.sensors {
		if m.isRefused(s.name) {
			continue
		}
		r, err := threshold.Propose(s.readings, v.setup.Of(s.name).Options)
		if err == nil && slices.ContainsFunc(r.Table.Rows, func(row threshold.Row) bool { return row.ThresholdV.Known }) {
			tables[s.name] = r.Table
		}
	}
	return tables
}

// watch gives each sensor of each capture its player.
func (v *investigation) watch(sensor string, info captures.WaveInfo) teeth.Watcher {
	v.mutex.Lock()
	defer v.mutex.Unlock()
	p := &player{track: v.keeping.measured[playing{info.File, sensor}].Track}
	if len(wantedOf(&v.setup)) > 1 {
		p.strips = new(replay.Strips)
	}
	v.players[playing{info.File, sensor}] = p
	if table, ok := v.tables[sensor]; ok {
		o := replayOptions(v.setup.Of(sensor), table, v.events)
		if v.keeping.pictures {
			p.playback = report.NewPlayback(info)
			o.View = p.playback
		}
		o.KeepWave, o.KeptPerTooth = p.strips != nil, p.keeps()
		p.replay, p.err = replay.New(info, o)
	}
	return p
}

func replayOptions(s *setup.Sensor, table threshold.Table, events bool) replay.Options {
	o := replay.Options{
		Tables: []threshold.Table{table}, Wheel: s.Wheel, OnCam: s.Shaft == captures.Cam,
		HysteresisV: s.Input.HysteresisV, ClampV: s.Input.ClampV, FilterHz: s.FilterHz,
		CrankingRPM: s.CrankingRPM, Confidence: s.Confidence, KeepEvents: events,
	}
	if s.SpeedFromTooth {
		o.SpeedFrom = replay.Interval
	}
	if s.CountsOnLevel {
		o.CountsOn = replay.Level
	}
	return o
}

// results concludes for every capture and sensor that was played.
func (v *investigation) results(m measured, proposed map[string]threshold.Table) ([]report.InvestigatedCapture, error) {
	var list []report.InvestigatedCapture
	for _, wave := range m.waves {
		sensor := wave.Measurement.Sensor
		p := v.players[playing{wave.Measurement.Info.File, sensor}]
		if p == nil || slices.Contains(v.noise, wave.Name) {
			continue
		}
		if p.err != nil {
			return nil, p.err
		}
		if p.replay == nil {
			continue
		}
		p.replay.End()
		r, err := p.replay.Result(0, v.facts(wave.Measurement))
		if err != nil {
			return nil, err
		}
		i := report.InvestigatedCapture{Name: wave.Name, Measurement: wave.Measurement, Result: r, Recording: wave.Recording, Playback: p.playback}
		if table, ok := proposed[sensor]; ok && r.Countable {
			if missed, unwanted, covered := p.replay.Would(table); covered {
				i.WithProposed = &report.Would{Missed: missed, False: unwanted}
			}
		}
		list = append(list, i)
	}
	if len(list) == 0 && len(m.refused) > 0 {
		f := m.refused[0].Finding
		return nil, hint(errors.New("no table was given, and none can be proposed: "+f.Text), f.Advice)
	}
	if len(list) == 0 {
		return nil, hint(errors.New("no table for the sensors measured"),
			"give one with --table, for the sensor that --sensor says; without, the captures have to show the peaks at three speeds, for a table to be proposed")
	}
	return list, nil
}

// facts are what measuring told of a capture as a whole.
func (v *investigation) facts(m teeth.Measurement) replay.Facts {
	f := replay.Facts{
		Signal: m.Signal, SignalWhy: m.SignalWhy, Reversed: m.Polarity == teeth.Reversed, PolarityWhy: m.PolarityWhy,
		Wheel: m.Wheel, NoWheel: !m.Wheel.Known(), WheelStated: m.Stated.Known(), WheelWhy: wheelWhy(m),
	}
	f.WheelDiffers = m.Stated.Known() && m.Wheel.Known() && m.Wheel.TeethPresent() != m.Stated.TeethPresent()
	for _, finding := range m.Findings {
		switch {
		case finding.Kind == replay.WheelDiffers:
			f.WheelDiffers, f.WheelWhy = true, finding.Text
		case isCopied(finding):
			f.Copied = finding.Text
		}
	}
	for _, other := range []string{captures.Crank, captures.Cam} {
		if p := v.players[playing{m.Info.File, other}]; p != nil && other != m.Sensor {
			f.Other, f.OtherName, f.OtherWave = p.falls(), other, p.strips
			f.Teeth = v.players[playing{m.Info.File, m.Sensor}].falls()
		}
	}
	return f
}

func wheelWhy(m teeth.Measurement) string {
	why := "the wheel stated is " + m.Stated.String() + ", the one seen " + m.Wheel.String()
	if !m.Wheel.Known() {
		why = "the wheel stated is " + m.Stated.String() + ", and the wave does not show it"
	}
	if m.WheelWhy != "" {
		why += ": " + m.WheelWhy
	}
	return why
}
