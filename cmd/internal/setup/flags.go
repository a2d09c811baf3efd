package setup

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"armcurve/captures"
)

// DefaultFile is the setup file that is used where it is in the current folder.
const DefaultFile = "armcurve.toml"

// Flags are the settings that a command offers as flags.
type Flags struct {
	sensor, file *flagValue
	bound        []boundFlag
}

type boundFlag struct {
	setting *setting
	value   *flagValue
}

// flagValue keeps a flag's text; what it means is found out with the file.
type flagValue struct {
	text  string
	given bool
	kind  string
}

func (v *flagValue) Set(text string) error {
	v.text, v.given = text, true
	return nil
}

func (v *flagValue) String() string { return v.text }
func (v *flagValue) Type() string   { return v.kind }

// AddFlags adds --setup, --sensor and the flags of the groups; Load reads them
// once the command line is parsed.
func AddFlags(cmd *cobra.Command, groups ...Group) *Flags {
	set := cmd.Flags()
	f := &Flags{sensor: &flagValue{kind: "sensor"}, file: &flagValue{kind: "file"}}
	set.Var(f.file, "setup", "setup `file`, or none (default: "+DefaultFile+" if it is in the current folder)")
	set.Var(f.sensor, "sensor", "`sensor` that the other flags speak of, crank or cam (default crank)")
	for i := range settings {
		if s := &settings[i]; slices.Contains(groups, s.group) {
			f.add(cmd, s)
		}
	}
	return f
}

func (f *Flags) add(cmd *cobra.Command, s *setting) {
	set := cmd.Flags()
	value := &flagValue{kind: "value"}
	f.bound = append(f.bound, boundFlag{s, value})
	set.Var(value, s.flag, s.usage)
	if s.key == "invert" {
		set.Lookup(s.flag).NoOptDefVal = "true"
		value.kind = "bool"
	}
}

// Load reads the setup file, if there is one, and puts the flags over it. The
// error has one line for each thing that is wrong.
func (f *Flags) Load(read func(name string) ([]byte, error)) (Setup, error) {
	sensor, err := f.sensorName()
	if err != nil {
		return Setup{}, err
	}
	file, text, err := f.open(read)
	if err != nil {
		return Setup{}, err
	}
	inFile, err := readFile(file, text)
	if err != nil {
		return Setup{}, err
	}
	byFlag, err := f.statements(sensor)
	if err != nil {
		return Setup{}, err
	}
	s, err := append(inFile, byFlag...).apply(file)
	s.Sensor = sensor
	return s, err
}

// sensorName is the sensor that the flags speak of.
func (f *Flags) sensorName() (string, error) {
	if !f.sensor.given {
		return captures.Crank, nil
	}
	i, err := oneOf(flagText(f.sensor.text), captures.Crank, captures.Cam)
	if err != nil {
		return "", fmt.Errorf("--sensor: found %q; %w", f.sensor.text, err)
	}
	return []string{captures.Crank, captures.Cam}[i], nil
}

// open gives the setup file's name and text, both empty where there is none.
func (f *Flags) open(read func(string) ([]byte, error)) (name string, text []byte, err error) {
	switch {
	case f.file.text == "none":
		return "", nil, nil
	case f.file.given:
		if text, err = read(f.file.text); err != nil {
			return "", nil, fmt.Errorf("--setup: %w", err)
		}
		return f.file.text, text, nil
	}
	text, err = read(DefaultFile)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", nil, nil
	case err != nil:
		return "", nil, err
	}
	return DefaultFile, text, nil
}

// statements gives what the flags state.
func (f *Flags) statements(sensor string) (statements, error) {
	var list statements
	for _, b := range f.bound {
		if !b.value.given {
			continue
		}
		st := statement{setting: b.setting, value: flagText(b.value.text), origin: "--" + b.setting.flag}
		if b.setting.group == Input {
			st.sensor = sensor
		}
		if b.setting.key == "channel" {
			list = append(list, channels(st)...)
			continue
		}
		list = append(list, st)
	}
	return list, errors.Join(list.bothAxes()...)
}

// channels splits "crank=A,cam=B" into a statement for each sensor. Any other
// text is the name of a channel.
func channels(st statement) statements {
	text, _ := word(st.value)
	var list statements
	for part := range strings.SplitSeq(text, ",") {
		sensor, channel, found := strings.Cut(part, "=")
		sensor = strings.ToLower(strings.TrimSpace(sensor))
		if !found || sensor != captures.Crank && sensor != captures.Cam {
			return statements{st}
		}
		st.sensor, st.value = sensor, flagText(channel)
		list = append(list, st)
	}
	return list
}
