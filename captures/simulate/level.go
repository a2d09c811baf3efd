package simulate

import (
	"fmt"
	"io"

	"armcurve/captures"
)

// Level is what a sensor gives at one steady speed, without noise: the truth of
// the amplitude curve.
type Level struct {
	RPM      float64        `json:"rpm"`
	PeakV    captures.Maybe `json:"peak_v"`    // mean tooth peak, without the first after each gap
	WeakestV captures.Maybe `json:"weakest_v"` // lowest tooth peak, any tooth
}

// Levels turns a sensor at each of the speeds, all above 0, and gives what it
// shows in one turn of its wheel once it has settled. The error says what is
// wrong with the sensor.
func Levels(sensor Sensor, speedsRPM []float64) ([]Level, error) {
	sensor.Noise, sensor.Tones, sensor.Sparks, sensor.Dropouts = nil, nil, nil, nil
	levels := make([]Level, 0, len(speedsRPM))
	for _, rpm := range speedsRPM {
		level, err := sensor.level(rpm)
		if err != nil {
			return nil, fmt.Errorf("level at %g rpm: %w", rpm, err)
		}
		levels = append(levels, level)
	}
	return levels, nil
}

func (s Sensor) level(rpm float64) (Level, error) {
	wheelTurnS := 60 / rpm / s.perCrank()
	source, err := Open(Rig{
		Name: "level", SampleHz: 2 * stepsPerDetail / s.detail() / wheelTurnS, LengthS: 2.5 * wheelTurnS,
		Speed: Steady(rpm), Sensors: []Sensor{s},
	})
	if err != nil {
		return Level{}, err
	}
	truth := Listen(source)
	var block captures.Block
	for source.Next(&block) != io.EOF {
	}
	if len(truth.Turns) == 0 {
		return Level{}, fmt.Errorf("the sensor shows no whole turn")
	}
	last := truth.Turns[len(truth.Turns)-1]
	return Level{RPM: rpm, PeakV: last.PeakV, WeakestV: last.WeakestV}, nil
}
