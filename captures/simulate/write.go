package simulate

import (
	"bufio"
	"encoding/json"
	"errors"
	"io"
	"math"
	"strconv"

	"armcurve/captures"
)

// WriteCSV writes the rest of a source as a capture: a header of time_s and one
// column for each sensor (crank_v, cam_v), then one row for each sample.
func WriteCSV(w io.Writer, s *Source) error {
	out := bufio.NewWriterSize(w, 1<<16)
	row := []byte("time_s")
	for _, c := range s.Info().Channels {
		row = append(append(row, ','), c.Name...)
	}
	row = append(row, '\n')
	timeDigits, voltDigits := digits(1/s.rig.SampleHz), s.voltDigits()
	var block captures.Block
	for {
		if _, err := out.Write(row); err != nil {
			return err
		}
		if err := s.Next(&block); errors.Is(err, io.EOF) {
			return out.Flush()
		} else if err != nil {
			return err
		}
		row = row[:0]
		for i := range block.Len() {
			atS := s.rig.StartS + float64(block.First+int64(i))/s.rig.SampleHz
			row = strconv.AppendFloat(row, atS, 'f', timeDigits, 64)
			for j := range block.V {
				row = append(row, ',')
				row = strconv.AppendFloat(row, block.V[j][i], 'f', voltDigits[j], 64)
			}
			row = append(row, '\n')
		}
	}
}

// voltDigits are the decimals that each channel's steps need.
func (s *Source) voltDigits() []int {
	var all []int
	for _, c := range s.channels {
		if step := c.sensor.Recorder.StepV; step > 0 {
			all = append(all, digits(step))
		} else {
			all = append(all, 6)
		}
	}
	return all
}

// digits are the decimals that write multiples of a step without loss, nine at
// most.
func digits(step float64) int {
	for n := range 9 {
		scaled := step * math.Pow10(n)
		if whole := math.Round(scaled); whole >= 1 && math.Abs(scaled-whole) < 1e-6 {
			return n
		}
	}
	return 9
}

// WriteTeeth writes the teeth as CSV, for each sensor in order of time: its
// name, the instant of the fall through zero, the tooth, the peak, the engine's
// speed and whether the recorded wave is without it (1) or not (0).
func (t *Truth) WriteTeeth(w io.Writer) error {
	out := bufio.NewWriterSize(w, 1<<16)
	row := []byte("sensor,t_s,tooth,peak_v,rpm,unseen\n")
	for i := range t.Rig.Sensors {
		for _, tooth := range t.Teeth {
			if tooth.Sensor != t.Rig.Sensors[i].Name {
				continue
			}
			row = tooth.appendCSV(row)
			if _, err := out.Write(row); err != nil {
				return err
			}
			row = row[:0]
		}
	}
	if _, err := out.Write(row); err != nil {
		return err
	}
	return out.Flush()
}

func (t Tooth) appendCSV(row []byte) []byte {
	row = append(append(row, t.Sensor...), ',')
	row = append(strconv.AppendFloat(row, t.TimeS, 'f', 9, 64), ',')
	row = append(strconv.AppendInt(row, int64(t.Number), 10), ',')
	row = append(strconv.AppendFloat(row, t.PeakV, 'f', 6, 64), ',')
	row = append(strconv.AppendFloat(row, t.RPM, 'f', 3, 64), ',')
	unseen := byte('0')
	if t.Unseen {
		unseen = '1'
	}
	return append(row, unseen, '\n')
}

// sensorTruth is one sensor in the JSON of a truth.
type sensorTruth struct {
	Name      string  `json:"name"`
	Wheel     string  `json:"wheel"`
	Teeth     int     `json:"teeth"`
	Polarity  string  `json:"polarity"`    // normal, reversed
	Signal    string  `json:"signal"`      // reluctor, square
	ArmsOn    string  `json:"arming_side"` // side of the recorded wave on which a tooth peaks before it falls
	ToothSeen int     `json:"teeth_seen"`
	Unseen    int     `json:"teeth_unseen"`
	Levels    []Level `json:"levels"`
	Turns     []Turn  `json:"turns"`
}

// WriteJSON writes all but the list of teeth: the rig, and for each sensor its
// wheel, polarity, counts, amplitude over speed and turns.
func (t *Truth) WriteJSON(w io.Writer) error {
	file := struct {
		Rig     Rig           `json:"rig"`
		Sensors []sensorTruth `json:"sensors"`
	}{Rig: t.Rig}
	for i := range t.Rig.Sensors {
		sensor, err := t.sensor(&t.Rig.Sensors[i])
		if err != nil {
			return err
		}
		file.Sensors = append(file.Sensors, sensor)
	}
	out := json.NewEncoder(w)
	out.SetIndent("", "  ")
	return out.Encode(file)
}

func (t *Truth) sensor(s *Sensor) (sensorTruth, error) {
	one := sensorTruth{
		Name: s.Name, Wheel: s.Wheel.String(), Teeth: s.Wheel.TeethPresent(),
		Polarity: "normal", Signal: "reluctor", ArmsOn: "positive",
	}
	if s.upsideDown() {
		one.Polarity, one.ArmsOn = "reversed", "negative"
	}
	if s.SquareV > 0 {
		one.Signal = "square"
	}
	for _, tooth := range t.Teeth {
		switch {
		case tooth.Sensor != s.Name:
		case tooth.Unseen:
			one.Unseen++
		default:
			one.ToothSeen++
		}
	}
	for _, turn := range t.Turns {
		if turn.Sensor == s.Name {
			one.Turns = append(one.Turns, turn)
		}
	}
	var err error
	one.Levels, err = Levels(*s, t.Rig.Speed.ladder())
	return one, err
}

// ladder is a choice of speeds from the lowest to the highest of the profile.
func (p Profile) ladder() []float64 {
	top := p.MaxRPM()
	if top == 0 {
		return nil
	}
	low := top
	for _, point := range p {
		if point.RPM > 0 {
			low = min(low, point.RPM)
		}
	}
	var speeds []float64
	for n := math.Ceil(low/250) * 250; n < top; n += 250 {
		speeds = append(speeds, n)
	}
	if len(speeds) == 0 || low < speeds[0] {
		speeds = append([]float64{low}, speeds...)
	}
	if top > low {
		speeds = append(speeds, top)
	}
	return speeds
}
