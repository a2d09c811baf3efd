package setup

import "armcurve/captures"

// Assumption is a default in use.
type Assumption struct {
	Key    string // of the setup file
	Sensor string // of which sensor; "" for what both share
	Text   string // what is assumed, in plain words
	Flag   string // what changes it
}

// String gives the assumption with what changes it.
func (a Assumption) String() string {
	if a.Sensor == captures.Cam {
		return a.Text + " (" + a.Flag + " with --sensor cam)"
	}
	return a.Text + " (" + a.Flag + ")"
}

// assumed lists the settings that nothing was stated of.
func (list statements) assumed(s *Setup) []Assumption {
	var assumptions []Assumption
	for _, setting := range settings {
		for _, sensor := range setting.group.speaksOf() {
			if setting.assumed == nil || list.last(setting.key, sensor) != nil {
				continue
			}
			if text := setting.assumed(*s.Of(sensor), s.Captures); text != "" {
				assumptions = append(assumptions, Assumption{Key: setting.key, Sensor: sensor, Text: text, Flag: "--" + setting.flag})
			}
		}
	}
	return assumptions
}

// speaksOf gives the sensors that have a group's settings of their own; "" for
// a group that both share.
func (g Group) speaksOf() []string {
	if g == Input {
		return []string{captures.Crank, captures.Cam}
	}
	return []string{""}
}
