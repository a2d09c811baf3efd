package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"armcurve/captures"
)

// Markdown writes the whole document.
func Markdown(w io.Writer, d Document) error {
	var b strings.Builder
	if d.Setup != "" {
		fmt.Fprintf(&b, "%s\n\n", escape(d.Setup))
	}
	fmt.Fprintf(&b, "**%s**\n", escape(d.Sentence))
	for _, s := range d.Sections {
		if !s.isPictures() {
			markdownSection(&b, s)
		}
	}
	markdownFindings(&b, "##", d.Findings)
	markdownList(&b, "## Assumed", slices.Concat(d.Assumed, d.Defaults))
	markdownList(&b, "## Read as", d.ReadAs)
	if d.Caution != "" {
		fmt.Fprintf(&b, "\n%s\n", escape(d.Caution))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func markdownSection(b *strings.Builder, s Section) {
	if s.Title != "" {
		fmt.Fprintf(b, "\n## %s\n", escape(s.Title))
	}
	for _, t := range s.Tables {
		if t.Title != "" {
			fmt.Fprintf(b, "\n### %s\n", escape(t.Title))
		}
		markdownTable(b, t)
	}
	for _, note := range s.Notes {
		fmt.Fprintf(b, "\n%s\n", escape(note))
	}
	for _, l := range s.Lists {
		markdownList(b, "### "+capital(l.Title), l.Lines)
	}
	markdownFindings(b, "###", s.Findings)
}

func markdownTable(b *strings.Builder, t Table) {
	t = t.without(func(c Column) bool { return c.CSV })
	heads, rules := make([]string, len(t.Columns)), make([]string, len(t.Columns))
	for i, c := range t.Columns {
		heads[i], rules[i] = escape(c.Head), "--:"
		if c.Left {
			rules[i] = ":--"
		}
	}
	fmt.Fprintf(b, "\n| %s |\n| %s |\n", strings.Join(heads, " | "), strings.Join(rules, " | "))
	for _, row := range t.Rows {
		cells := make([]string, len(row))
		for i, c := range row {
			cells[i] = escape(c.Text)
		}
		fmt.Fprintf(b, "| %s |\n", strings.Join(cells, " | "))
	}
}

func markdownFindings(b *strings.Builder, level string, findings []captures.Finding) {
	var lines []string
	for _, f := range findings {
		line := fmt.Sprintf("%s (%s): %s", f.Severity, f.Kind, f.Text)
		if f.Advice != "" {
			line += ". Do: " + f.Advice
		}
		lines = append(lines, line)
	}
	markdownList(b, level+" Findings", lines)
}

// markdownList writes lines below a heading, its level before its words.
func markdownList(b *strings.Builder, heading string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(b, "\n%s\n\n", heading)
	for _, line := range lines {
		fmt.Fprintf(b, "- %s\n", escape(line))
	}
}

// escape keeps what stands for itself from being read as markup.
func escape(text string) string {
	return markup.Replace(text)
}

var markup = strings.NewReplacer(`\`, `\\`, "|", `\|`, "<", "&lt;", ">", "&gt;", "&", "&amp;", "*", `\*`, "_", `\_`, "`", "\\`", "[", `\[`, "]", `\]`, "#", `\#`, "\n", " ")
