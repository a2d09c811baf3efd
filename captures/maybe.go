package captures

import (
	"encoding/json"
	"math"
)

// Maybe is a number that may not have been measured. The zero value is
// unknown; unknown is never the same as 0. A known value is finite.
type Maybe struct {
	Value float64
	Known bool
}

// Some returns a known value.
func Some(v float64) Maybe { return Maybe{Value: v, Known: true} }

// Finite returns v, or unknown where v is NaN or infinite.
func Finite(v float64) Maybe {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Maybe{}
	}
	return Some(v)
}

// Or returns the value, or other where it is unknown.
func (m Maybe) Or(other float64) float64 {
	if m.Known {
		return m.Value
	}
	return other
}

// Times returns the value times k, unknown staying unknown.
func (m Maybe) Times(k float64) Maybe {
	m.Value *= k
	return m
}

// MarshalJSON writes the number, or null where it is unknown.
func (m Maybe) MarshalJSON() ([]byte, error) {
	if !m.Known {
		return []byte("null"), nil
	}
	return json.Marshal(m.Value)
}
