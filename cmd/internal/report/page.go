package report

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strconv"
	"strings"
	"sync"

	"armcurve/captures"
)

//go:embed page.tmpl
var pageTemplate string

//go:embed page.css
var pageStyle string

//go:embed figure.css
var figureStyle string

//go:embed page.js
var pageScript string

// pageTemplates are read when the first page is written: no other output waits
// for them.
var pageTemplates = sync.OnceValue(func() *template.Template { return template.Must(template.New("").Parse(pageTemplate)) })

// pageView is what the template of the page is filled with.
type pageView struct {
	Title, Version string
	Policy         string
	Style          template.CSS
	Script         template.JS
	Documents      []documentView
	Cautions       []cautionGroup
}

type documentView struct {
	Document
	ID       string
	Sections []sectionView
	Inputs   []Table
	Findings []captures.Finding // all of them, worst first
	Assumed  []assumption
	Defaults []assumption
}

// assumption is what was assumed, and the flag that states it.
type assumption struct{ Text, Flag string }

func assumptions(lines []string) []assumption {
	list := make([]assumption, len(lines))
	for i, line := range lines {
		list[i].Text = line
		if text, flag, found := strings.Cut(line, " (--"); found {
			list[i] = assumption{text, "--" + strings.TrimSuffix(flag, ")")}
		}
	}
	return list
}

type sectionView struct {
	Section
	ToType  *typedView
	Figures []figure
	Tables  []Table
}

// typedView is the table to type in, also as text.
type typedView struct {
	Table
	TSV string
}

// Page writes one page of HTML that needs nothing else: no network, no other
// file. It may hold several documents.
func Page(w io.Writer, version string, documents ...Document) error {
	style := figureStyle + pageStyle
	v := pageView{
		Version: version, Style: template.CSS(style), Script: template.JS(pageScript), Cautions: cautions,
		// Nothing may be loaded, and no other style or script may be used.
		Policy: "default-src 'none'; style-src " + digest(style) + "; script-src " + digest(pageScript) + "; base-uri 'none'; form-action 'none'",
	}
	for i, d := range documents {
		v.Documents = append(v.Documents, viewOf(d, fmt.Sprintf("part%d", i+1)))
	}
	if len(documents) > 0 {
		v.Title = "armcurve: " + strings.TrimSuffix(documents[0].Sentence, ".")
	}
	// Written at once: what fails half-way leaves nothing.
	var b bytes.Buffer
	if err := pageTemplates().ExecuteTemplate(&b, "page", v); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

// digest names a text in a policy.
func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

func viewOf(d Document, id string) documentView {
	if d.First != "" {
		d.First = strings.TrimSuffix(d.First, ".") + "."
	}
	v := documentView{Document: d, ID: id, Findings: adviceOnce(allFindings(d)), Assumed: assumptions(d.Assumed), Defaults: assumptions(d.Defaults)}
	for i, s := range d.Sections {
		v.Sections = append(v.Sections, sectionOf(s, fmt.Sprintf("%s-%d", id, i+1)))
	}
	for _, input := range d.Inputs {
		v.Inputs = append(v.Inputs, inParts(input())...)
	}
	return v
}

// adviceOnce leaves advice that the next finding repeats to that one.
func adviceOnce(findings []captures.Finding) []captures.Finding {
	for i := range findings {
		if i+1 < len(findings) && findings[i].Advice == findings[i+1].Advice {
			findings[i].Advice = ""
		}
	}
	return findings
}

func sectionOf(s Section, id string) sectionView {
	v := sectionView{Section: s}
	v.Lists = slices.Clone(s.Lists)
	for i := range v.Lists {
		v.Lists[i].Title = capital(v.Lists[i].Title)
	}
	if s.ToType != nil {
		v.ToType = &typedView{*s.ToType, tabSeparated(*s.ToType)}
	}
	if s.Charts != nil {
		for _, c := range s.Charts() {
			v.Figures = append(v.Figures, layOut(c, id+"-"+c.Name))
		}
	}
	for _, t := range s.Tables {
		v.Tables = append(v.Tables, narrow(t)...)
	}
	return v
}

// mostUnfolded is how many rows of a lesser table stand on the page unasked.
const mostUnfolded = 20

// sideBySide is how many columns stand beside each other on a narrow screen.
const sideBySide = 7

// narrow splits a table that the screen shows a part of, or that is too wide,
// into that part and the rest, both beginning with the first column.
func narrow(t Table) []Table {
	t = t.without(func(c Column) bool { return c.CSV })
	shown, rest := Table{Title: t.Title}, Table{Title: t.Title}
	if rest.Title == "" {
		rest.Title = "more of each row"
	} else {
		rest.Title += ": more of each row"
	}
	shown.Rows, rest.Rows = make([][]Cell, len(t.Rows)), make([][]Cell, len(t.Rows))
	put := func(into *Table, i int) {
		into.Columns = append(into.Columns, t.Columns[i])
		for k, row := range t.Rows {
			into.Rows[k] = append(into.Rows[k], row[i])
		}
	}
	parted := slices.IndexFunc(t.Columns, func(c Column) bool { return c.Aside })
	for i, c := range t.Columns {
		full := len(shown.Columns) >= sideBySide || parted >= 0 && i >= parted
		aside := c.Wide || t.Data && full
		if i == 0 || !aside {
			put(&shown, i)
		}
		if i == 0 || aside && t.tells(i) {
			put(&rest, i)
		}
	}
	if len(rest.Columns) == 1 {
		return []Table{shown}
	}
	rest.Stack, rest.Folded = len(rest.Columns) >= sideBySide, len(rest.Rows) > mostUnfolded
	return []Table{shown, rest}
}

// mostColumnsWide is how many columns fit on a sheet of paper.
const mostColumnsWide = 10

// inParts splits a table that is too wide for paper, each part beginning with
// the first column.
func inParts(t Table) []Table {
	if len(t.Columns) <= mostColumnsWide {
		return []Table{t}
	}
	var parts []Table
	for from := 1; from < len(t.Columns); from += sideBySide - 1 {
		part := Table{Title: t.Title, Stack: true, Rows: make([][]Cell, len(t.Rows))}
		if from > 1 {
			part.Title += ": more of each row"
		}
		to := min(from+sideBySide-1, len(t.Columns))
		part.Columns = append(append(part.Columns, t.Columns[0]), t.Columns[from:to]...)
		for i, row := range t.Rows {
			part.Rows[i] = append(append(part.Rows[i], row[0]), row[from:to]...)
		}
		parts = append(parts, part)
	}
	return parts
}

// tells whether any row knows something in a column.
func (t Table) tells(column int) bool {
	return slices.ContainsFunc(t.Rows, func(row []Cell) bool { return row[column].Text != unknown })
}

// tabSeparated is a table as text that spreadsheets take, and this program too.
func tabSeparated(t Table) string {
	var b strings.Builder
	b.WriteString(strings.Join(keys(t), "\t") + "\n")
	for _, row := range t.Rows {
		for i, c := range row {
			if i > 0 {
				b.WriteString("\t")
			}
			b.WriteString(c.asTyped())
		}
		b.WriteString("\n")
	}
	return b.String()
}

// asTyped is the cell as people read it, unless that is rounded.
func (c Cell) asTyped() string {
	shown, err := strconv.ParseFloat(c.Text, 64)
	exact, exactErr := strconv.ParseFloat(c.Exact, 64)
	if err == nil && exactErr == nil && shown != exact {
		return c.Exact
	}
	return c.Text
}

// Picture writes a chart as an SVG file of its own.
func Picture(w io.Writer, c Chart) error {
	f := layOut(c, c.Name)
	f.standAlone(figureStyle)
	return pageTemplates().ExecuteTemplate(w, "plot", f)
}

// Rounded tells a number that is shown with fewer digits than it has.
func (c Cell) Rounded() bool {
	_, err := strconv.ParseFloat(c.Exact, 64)
	return err == nil && c.Text != c.Exact
}

// Stacked tells a table that is too wide for a narrow screen side by side.
func (t Table) Stacked() bool { return t.Stack || len(t.Columns) > sideBySide }
