package threshold

import (
	"encoding/binary"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"armcurve/captures"
)

// numbers makes readings, options and tables out of bytes, sensible ones and
// any others.
type numbers struct{ data []byte }

func (n *numbers) next() byte {
	if len(n.data) == 0 {
		return 0
	}
	b := n.data[0]
	n.data = n.data[1:]
	return b
}

// about is often within a factor of 16 of a typical value, at times anything.
func (n *numbers) about(typical float64) float64 {
	switch b := n.next(); {
	case b < 252:
		return typical * math.Pow(2, float64(n.next())/32-4)
	case b < 254:
		return []float64{0, 1, typical, 1e-9, 1e-300, 1e9, 1e300, -1}[n.next()%8]
	default:
		var bits [8]byte
		for i := range bits {
			bits[i] = n.next()
		}
		return math.Float64frombits(binary.LittleEndian.Uint64(bits[:]))
	}
}

func (n *numbers) maybe(typical float64) captures.Maybe {
	if n.next()%3 > 0 {
		return captures.Maybe{}
	}
	return captures.Some(n.about(typical))
}

func (n *numbers) readings() []captures.Reading {
	list := make([]captures.Reading, 2+n.next()%12)
	for i := range list {
		r := &list[i]
		r.Pos = captures.Pos{File: "any.csv", Line: i + 2}
		r.RPM = n.about(1500)
		r.PeakV = captures.Some(n.about(r.RPM / 500))
		if n.next()%8 == 0 {
			r.RPM, r.PeakV = 0, captures.Maybe{}
		}
		r.WeakestV, r.PeakSDV, r.Ripple = n.maybe(r.PeakV.Value*0.8), n.maybe(0.1), n.maybe(0.2)
		r.NoiseV, r.NoiseRMSV, r.NoiseRateHz = n.maybe(0.1), n.maybe(0.02), n.maybe(2000)
		r.ToneV, r.SpikeV, r.HumpV = n.maybe(0.01), n.maybe(0.1), n.maybe(0.2)
		r.Clipped = n.next()%16 == 0
	}
	return list
}

func (n *numbers) options() Options {
	o := DefaultOptions()
	o.Wheel, _ = captures.ParseWheel([]string{"36-1", "60-2", "12", "@0,180,420", "", "2-1"}[n.next()%6])
	o.Shaft = []string{captures.Crank, captures.Cam}[n.next()%2]
	o.Input = Input{StepV: 0.01, BetweenRows: BetweenRows(n.next() % 2), MinV: n.maybe(0.1), MaxV: n.maybe(4), ClampV: n.maybe(3)}
	for _, number := range []*float64{
		&o.Input.StepV, &o.Input.HysteresisV, &o.Axis.StepRPM, &o.Signal, &o.SignalCranking, &o.Noise, &o.CrankingRPM,
		&o.ReadingScatter, &o.NoiseExposureS, &o.CrankingExposureS, &o.NoiseRateHz, &o.NoiseReach,
	} {
		if n.next()%6 == 0 {
			*number = n.about(*number)
		}
	}
	o.Axis.Fixed, o.Axis.Rows = n.next()%2 == 0, 4+int(n.next()%20)
	if n.next()%4 == 0 {
		o.Axis.AtRPM = n.speeds()
	}
	o.LimitRPM, o.CrankingRipple = n.maybe(7000), n.maybe(0.3)
	return o
}

// speeds rise.
func (n *numbers) speeds() []float64 {
	speeds := []float64{}
	rpm := 0.0
	for range n.next() % 12 {
		rpm += n.about(400)
		speeds = append(speeds, rpm)
	}
	return speeds
}

// table has the speeds and volts that a file can have.
func (n *numbers) table(between BetweenRows) Table {
	var rows []Row
	for _, rpm := range n.speeds() {
		v := n.maybe(1)
		if rpm >= 0 && rpm <= mostRPM && (len(rows) == 0 || rpm > rows[len(rows)-1].RPM) && v.Value >= 0 && v.Value <= 1000 {
			rows = append(rows, Row{RPM: rpm, ThresholdV: v})
		}
	}
	return NewTable(rows, between)
}

// anything proposes a table, and judges one, from any numbers: either they are
// refused, or every number of the result is finite and in order.
func anything(t *testing.T, data []byte) (made bool) {
	n := &numbers{data}
	o := n.options()
	readings := n.readings()
	r, err := Propose(readings, o)
	if err != nil {
		sound(t, err)
		return false
	}
	soundResult(t, r)
	for _, row := range r.Table.Rows {
		if v := row.ThresholdV; v.Known && (v.Value <= 0 || v.Value < o.Input.MinV.Or(0)*(1-1e-9) || v.Value > o.Input.MaxV.Or(math.Inf(1))*(1+1e-9)) {
			t.Errorf("threshold %v V at %v rpm, limits %v and %v", v.Value, row.RPM, o.Input.MinV, o.Input.MaxV)
		}
	}
	soundResult(t, r.Sensor.Check(n.table(o.Input.BetweenRows)))
	return true
}

// sound accepts errors that are about the input.
func sound(t *testing.T, err error) {
	var option *OptionError
	var reading *ReadingError
	var few *TooFewError
	if !errors.As(err, &option) && !errors.As(err, &reading) && !errors.As(err, &few) {
		t.Errorf("an error that does not speak of the input: %v", err)
	}
}

func soundResult(t *testing.T, r Result) {
	finite := func(what string, values ...float64) {
		for _, v := range values {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Errorf("%s is %v", what, v)
			}
		}
	}
	s := r.Sensor
	for _, p := range s.Curve.Parameters {
		finite(p.Name, p.Value)
	}
	for rpm := 0.0; rpm <= s.LimitRPM; rpm += s.LimitRPM / 20 {
		e := s.Curve.At(rpm)
		finite("curve", e.V, e.LowV, e.HighV)
		if !(0 <= e.LowV && e.LowV <= e.V && e.V <= e.HighV) {
			t.Errorf("bounds out of order at %v rpm: %+v", rpm, e)
		}
		w := s.Window(rpm)
		finite("window", w.WeakestV, w.NoiseV.Value, w.SignalTarget)
		if w.WeakestV < 0 || w.WeakestV > s.Curve.At(max(rpm, s.Options.CrankingLowRPM)).V || w.NoiseV.Value < 0 {
			t.Errorf("window %+v", w)
		}
	}
	for _, row := range r.Judgement.Rows {
		finite("row", row.RPM, row.ThresholdV.Value, row.SignalMargin.Value, row.NoiseMargin.Value, row.WorstRPM, row.FalsePerHour.Value, row.MissedPerMillion.Value)
	}
	finite("worst", r.Judgement.Worst.RPM, r.Judgement.Worst.SignalMargin.Value, r.Judgement.Worst.NoiseMargin.Value, r.Judgement.ClearFromRPM.Value)
	for _, f := range r.Findings {
		finite("finding "+f.Kind, f.FromRPM.Value, f.ToRPM.Value)
		if f.Text == "" {
			t.Errorf("%s says nothing", f.Kind)
		}
	}
}

func TestAnything(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	made := 0
	for range 10 * *draws {
		data := make([]byte, 600)
		for i := range data {
			data[i] = byte(r.UintN(256))
		}
		if anything(t, data) {
			made++
		}
	}
	if made < *draws {
		t.Errorf("only %d tables made: the numbers are too wild to try much", made)
	}
}

func FuzzAnything(f *testing.F) {
	f.Add([]byte("sensible numbers lie about the typical ones"))
	f.Fuzz(func(t *testing.T, data []byte) { anything(t, data) })
}
