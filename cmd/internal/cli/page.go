package cli

import (
	"bytes"
	"strings"

	"armcurve/cmd/internal/report"
)

var pageEndings = []string{".html", ".htm"}

// writePage writes the page asked for, if any.
func (o *output) writePage(documents ...report.Document) error {
	if o.page == "" {
		return nil
	}
	var b bytes.Buffer
	if err := report.Page(&b, Version, documents...); err != nil {
		return err
	}
	return writeWhole(o.page, b.Bytes())
}

// outputFlags say where the output goes and have no say in what it is; true
// for those that take a value.
var outputFlags = map[string]bool{
	"--format": true, "--output": true, "-o": true, "--report": true,
	"--force": false, "--quiet": false, "-q": false, "--wide": false,
}

// commandLine is what was typed, but for where the output goes.
func commandLine(args []string) string {
	words := []string{"armcurve"}
	for i := 0; i < len(args); i++ {
		name, _, joined := strings.Cut(args[i], "=")
		takesValue, aside := outputFlags[name]
		switch {
		case !aside:
			words = append(words, quoted(args[i]))
		case takesValue && !joined:
			i++
		}
	}
	return strings.Join(words, " ")
}

// quoted is a word as a shell takes it.
func quoted(word string) string {
	if word != "" && !strings.ContainsAny(word, " \t\n'\"\\$`&|;<>()*?[]#~!{}") {
		return word
	}
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}
