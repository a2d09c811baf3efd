package setup

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"armcurve/captures"
	"armcurve/captures/csvfile"
)

// maxBytes bounds what is still a setup file.
const maxBytes = 256 << 10

// located is a key of a TOML file, or a section without a known name, and its
// place.
type located struct {
	path         []string
	line, column int
}

// readFile gives what a setup file states, in the order of the file.
func readFile(name string, text []byte) (statements, error) {
	if len(text) > maxBytes {
		return nil, fmt.Errorf("%s: found %d bytes; want a setup file, at most %d", name, len(text), maxBytes)
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	var tree map[string]any
	if err := toml.Unmarshal(text, &tree); err != nil {
		return nil, syntaxError(name, err)
	}
	keys, err := locate(text)
	if err != nil {
		return nil, sectionError(name, err)
	}
	var list statements
	var errs []error
	for _, k := range keys {
		st, err := k.statement(name, tree)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		list = append(list, st)
	}
	return list, errors.Join(append(errs, list.bothAxes()...)...)
}

// locate finds the places of all keys. Only a decoder that refuses unknown
// keys tells places, so it is given sections that know no keys.
func locate(text []byte) ([]located, error) {
	var sections struct{ Crank, Cam, Engine, Margins, Captures struct{} }
	err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&sections)
	var unknown *toml.StrictMissingError
	if !errors.As(err, &unknown) {
		return nil, err
	}
	keys := make([]located, len(unknown.Errors))
	for i := range unknown.Errors {
		e := &unknown.Errors[i]
		keys[i].path = e.Key()
		keys[i].line, keys[i].column = e.Position()
	}
	return keys, nil
}

func syntaxError(name string, err error) error {
	var decode *toml.DecodeError
	if !errors.As(err, &decode) {
		return fmt.Errorf("%s: %w", name, err)
	}
	line, column := decode.Position()
	return fmt.Errorf("%s:%d:%d: %s; want lines such as wheel = \"36-1\" or step_v = 0.01, texts in quotes, numbers with a decimal point",
		name, line, column, strings.TrimPrefix(decode.Error(), "toml: "))
}

// sectionError tells of a section's name that stands for something else.
func sectionError(name string, err error) error {
	var decode *toml.DecodeError
	if !errors.As(err, &decode) {
		return fmt.Errorf("%s: %w", name, err)
	}
	line, column := decode.Position()
	section := strings.Join(decode.Key(), ".")
	return fmt.Errorf("%s:%d:%d: found %s that is not a section; want a line [%s] and its keys below", name, line, column, section, section)
}

// statement finds the setting of a key and its value.
func (k located) statement(file string, tree map[string]any) (statement, error) {
	place := fmt.Sprintf("%s:%d:%d", file, k.line, k.column)
	section := k.path[0]
	table, isTable := tree[section].(map[string]any)
	if len(k.path) == 1 && !isTable {
		return statement{}, outside(place, k.path[0])
	}
	group, sensor := groupOf(section)
	if group == "" {
		return statement{}, fmt.Errorf("%s: found section [%s]; want %s", place, section, meantSection(section))
	}
	key := strings.Join(k.path[1:], ".")
	s := find(group, key)
	if s == nil {
		return statement{}, unknownKey(place, section, key)
	}
	return statement{setting: s, sensor: sensor, value: table[key], origin: fmt.Sprintf("%s: key %q", place, key)}, nil
}

// sectionNames are the sections of a setup file.
var sectionNames = []string{captures.Crank, captures.Cam, string(Engine), string(Margins), string(Files)}

// groupOf gives the group of a section's settings, and the sensor that the
// section speaks of; "" for a section that there is not.
func groupOf(section string) (group Group, sensor string) {
	switch {
	case section == captures.Crank || section == captures.Cam:
		return Input, section
	case slices.Contains(sectionNames, section):
		return Group(section), ""
	}
	return "", ""
}

// sectionsOf names the sections where the settings of a group are.
func sectionsOf(group Group) string {
	if group == Input {
		return "[crank] or [cam]"
	}
	return "[" + string(group) + "]"
}

func meantSection(section string) string {
	if near := csvfile.Nearest(section, sectionNames); near != "" {
		return "[" + near + "]"
	}
	return "[crank], [cam], [engine], [margins] or [captures]"
}

func outside(place, key string) error {
	for _, s := range settings {
		if s.key == key {
			return fmt.Errorf("%s: found %s outside its section; want it below a line %s", place, key, sectionsOf(s.group))
		}
	}
	return fmt.Errorf("%s: found %s outside a section; want keys below a line [crank], [cam], [engine], [margins] or [captures]", place, key)
}

// unknownKey says what a key may have been meant for.
func unknownKey(place, section, key string) error {
	group, _ := groupOf(section)
	var here []string
	for _, s := range settings {
		switch {
		case s.group == group:
			here = append(here, s.key)
		case s.key == key:
			return fmt.Errorf("%s: found %s in [%s]; want it below a line %s", place, key, section, sectionsOf(s.group))
		}
	}
	if near := csvfile.Nearest(key, here); near != "" {
		return fmt.Errorf("%s: found unknown key %s in [%s]; did you mean %s?", place, key, section, near)
	}
	return fmt.Errorf("%s: found unknown key %s in [%s]; want one of %s", place, key, section, strings.Join(here, ", "))
}
