package captures

// Severity ranks a finding.
type Severity int

const (
	Note Severity = iota
	Warning
	Problem
)

func (s Severity) String() string { return [...]string{"note", "warning", "problem"}[s] }

// MarshalText writes the severity's name.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Finding is one thing to know: what was seen, where, with its numbers, and
// what to do about it.
type Finding struct {
	Kind     string   // a stable name, such as "outlier"
	Severity Severity //
	FromRPM  Maybe    // speed range it speaks of
	ToRPM    Maybe    //
	Text     string   // one sentence, evidence in numbers, without the final stop
	Advice   string   // what to do, one sentence without the final stop; may be empty
}

// Of returns the findings led by whom they speak of.
func Of(whom string, findings []Finding) []Finding {
	var list []Finding
	for _, f := range findings {
		f.Text = whom + ": " + f.Text
		list = append(list, f)
	}
	return list
}
