package threshold

// Verdict is the judgement of a speed, a row or a table. Worse is greater.
type Verdict int

const (
	Clear    Verdict = iota // both margins reached
	Unproven                // what was measured is fine, the rest was not measured
	Thin                    // a margin under its target, still above 1
	Fails                   // a margin at or below 1
)

func (v Verdict) String() string {
	return [...]string{"clear", "unproven", "thin", "fails"}[v]
}

// MarshalText writes the verdict's word.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }
