package csvfile

import (
	"bytes"
	"strings"
)

// Kind is what a file holds, told from its content and never from its name.
type Kind int

const (
	Capture  Kind = iota // a wave: whatever is none of the others
	Readings             // a header with rpm and a peak, noise or rms column
	Table                // a header with rpm and threshold_v
	Wave                 // RIFF or RF64: a WAV recording
)

func (k Kind) String() string {
	return [...]string{"a capture", "readings", "a table of thresholds", "a WAV recording"}[k]
}

// Sniff tells the kind from the beginning of a file. A header with rpm but no
// column that is known, or with other names for both, is taken for readings, so
// that the error can say what is wrong with it.
func Sniff(head []byte) Kind {
	if bytes.HasPrefix(head, []byte("RIFF")) || bytes.HasPrefix(head, []byte("RF64")) {
		return Wave
	}
	text, err := plainText(head)
	if err != nil {
		return Capture
	}
	names := map[string]bool{}
	apart := func(r rune) bool { return strings.ContainsRune(",;|\t", r) }
	for name := range strings.FieldsFuncSeq(headerLine(text), apart) {
		names[strings.Trim(columnName(name), `"`)] = true
	}
	switch {
	case names["time"] || names["time_s"] || names["t_s"] || !names["rpm"] && !misnamed(names):
		return Capture
	case names["threshold_v"] || names["threshold_mv"]:
		return Table
	}
	return Readings
}

// misnamed tells a header of readings that calls the speed something else, from
// that of a wave: it has another name that only readings have.
func misnamed(names map[string]bool) bool {
	speed, other := false, false
	for name := range names {
		f, _ := findField(fields, name)
		switch {
		case meant[name] == "rpm" && name != "n": // which numbers the samples of a wave
			speed = true
		case f != nil || meant[name] != "":
			other = true
		}
	}
	return speed && other
}
