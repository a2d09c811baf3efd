package wavfile

import "fmt"

// Fault is what is wrong with a file, and where.
type Fault struct {
	File string
	Byte int64  // the place, from 0; −1 where there is none to name
	Text string // what was found and what is wanted
	Hint string // what to do about it; may be empty
}

// Error gives "run.wav: byte 20: found format 85; want …", then the hint on a
// line of its own.
func (f Fault) Error() string {
	text := f.File + ": "
	if f.Byte >= 0 {
		text += fmt.Sprintf("byte %d: ", f.Byte)
	}
	text += f.Text
	if f.Hint != "" {
		text += "\nhint: " + f.Hint
	}
	return text
}
