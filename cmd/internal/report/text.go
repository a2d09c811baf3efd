package report

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"

	"armcurve/captures"
	"armcurve/threshold"
)

// TextOptions are how much of a document stands on the screen.
type TextOptions struct {
	Wide bool // every column and every finding
}

const (
	screenWidth   = 80
	findingsShown = 5
)

// Text writes the document for a screen of 80 columns, or as wide as its
// tables are when asked for every column.
func Text(w io.Writer, d Document, o TextOptions) error {
	t := &textWriter{options: o}
	if d.Setup != "" {
		t.paragraph("", d.Setup)
		t.line("")
	}
	t.paragraph("", d.Sentence)
	for _, s := range d.Sections {
		if !s.isPictures() {
			t.section(s)
		}
	}
	t.findings(allFindings(d))
	t.assumed(d)
	t.list("read as", d.ReadAs)
	if d.Caution != "" {
		t.line("")
		t.paragraph("", d.Caution)
	}
	if t.err != nil {
		return t.err
	}
	_, err := io.WriteString(w, t.b.String())
	return err
}

type textWriter struct {
	options TextOptions
	b       strings.Builder
	err     error
}

func (t *textWriter) line(text string) { t.b.WriteString(strings.TrimRight(text, " ") + "\n") }

// paragraph writes text wrapped to the screen, its first line behind lead and
// the others indented as far.
func (t *textWriter) paragraph(lead, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(lead))
	for i, line := range Wrap(text, screenWidth-len(indent)) {
		if i == 0 {
			t.line(lead + line)
		} else {
			t.line(indent + line)
		}
	}
}

// Wrap breaks text between words into lines of at most width characters.
func Wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width:
			lines, line = append(lines, line), word
		default:
			line += " " + word
		}
	}
	return append(lines, line)
}

func (t *textWriter) section(s Section) {
	if s.Title != "" {
		t.line("")
		t.line(s.Title)
	}
	for _, table := range s.Tables {
		t.line("")
		if table.Title != "" {
			t.line(table.Title)
		}
		t.table(table)
	}
	if len(s.Notes) > 0 {
		t.line("")
	}
	for _, note := range s.Notes {
		t.paragraph("", note)
	}
	for _, l := range s.Lists {
		lines := l.Lines
		if more := len(lines) - l.Shown; more > 0 && !t.options.Wide {
			lines = append(lines[:l.Shown:l.Shown], andMore(more))
		}
		t.list(l.Title, lines)
	}
}

func (t *textWriter) table(table Table) {
	var shown []int
	for i, c := range table.Columns {
		if !c.CSV && (!c.Wide || t.options.Wide) {
			shown = append(shown, i)
		}
	}
	heads, align := make([]string, len(shown)), make(tw.Alignment, len(shown))
	for k, i := range shown {
		heads[k], align[k] = table.Columns[i].Head, tw.AlignRight
		if table.Columns[i].Left {
			align[k] = tw.AlignLeft
		}
	}
	var b strings.Builder
	writer := plainTable(&b, align)
	writer.Header(heads)
	for _, row := range table.Rows {
		cells := make([]string, len(shown))
		for k, i := range shown {
			cells[k] = row[i].Text
		}
		t.note(writer.Append(cells))
	}
	t.note(writer.Render())
	for line := range strings.Lines(b.String()) {
		t.line(strings.TrimSuffix(line, "\n"))
	}
}

func (t *textWriter) note(err error) {
	if t.err == nil {
		t.err = err
	}
}

// plainTable is a table of columns alone, without a frame.
func plainTable(w io.Writer, align tw.Alignment) *tablewriter.Table {
	return tablewriter.NewTable(w,
		tablewriter.WithRenderer(renderer.NewBlueprint(tw.Rendition{
			Borders:  tw.BorderNone,
			Settings: tw.Settings{Separators: tw.SeparatorsNone, Lines: tw.LinesNone},
		})),
		// The automatic format would take units apart: "mV" becomes "M V".
		tablewriter.WithHeaderAutoFormat(tw.Off),
		tablewriter.WithHeaderAlignmentConfig(tw.CellAlignment{PerColumn: align}),
		tablewriter.WithRowAlignmentConfig(tw.CellAlignment{PerColumn: align}),
	)
}

// allFindings are those of all sections and of the files, worst first. Where
// there are several sections each says whom it speaks of, and what is to be
// said of all of them is said once.
func allFindings(d Document) []captures.Finding {
	type told struct{ text, advice string }
	titles := map[told][]string{}
	var list []captures.Finding
	for _, s := range d.Sections {
		for _, f := range s.Findings {
			key := told{f.Text, f.Advice}
			if titles[key] == nil {
				list = append(list, f)
			}
			titles[key] = append(titles[key], s.Title)
		}
	}
	if len(d.Sections) > 1 {
		for i, f := range list {
			if whom := strings.Join(titles[told{f.Text, f.Advice}], " and "); whom != "" {
				list[i].Text = whom + ": " + f.Text
			}
		}
	}
	list = append(list, d.Findings...)
	threshold.SortFindings(list)
	return list
}

func (t *textWriter) findings(findings []captures.Finding) {
	if len(findings) == 0 {
		return
	}
	t.line("")
	t.line("findings")
	shown := findings
	if len(shown) > findingsShown && !t.options.Wide {
		shown = shown[:findingsShown]
	}
	for i, f := range shown {
		t.paragraph(fmt.Sprintf("  %-8s ", f.Severity), f.Text)
		again := i+1 < len(shown) && shown[i+1].Advice == f.Advice
		if f.Advice != "" && !again {
			t.paragraph("           do: ", f.Advice)
		}
	}
	if more := len(findings) - len(shown); more > 0 {
		t.line("  " + andMore(more))
	}
}

func andMore(n int) string {
	if n == 1 {
		return "and 1 more: --wide shows it"
	}
	return fmt.Sprintf("and %d more: --wide shows them", n)
}

// assumed lists what stood in for a measurement a line each, and the defaults
// in one paragraph, unless all of it was asked for.
func (t *textWriter) assumed(d Document) {
	lines := d.Assumed
	if t.options.Wide {
		lines = append(lines[:len(lines):len(lines)], d.Defaults...)
	} else if len(d.Defaults) > 0 {
		lines = append(lines[:len(lines):len(lines)], "by default: "+strings.Join(withoutFlags(d.Defaults), "; "))
	}
	t.list("assumed", lines)
}

// withoutFlags cuts the flag in brackets off each default; what is assumed of
// both sensors alike is then said once.
func withoutFlags(defaults []string) []string {
	var short []string
	for _, line := range defaults {
		text, _, _ := strings.Cut(line, " (--")
		if !slices.Contains(short, text) {
			short = append(short, text)
		}
	}
	return short
}

func (t *textWriter) list(title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	t.line("")
	t.line(title)
	for _, line := range lines {
		t.paragraph("  ", line)
	}
}
