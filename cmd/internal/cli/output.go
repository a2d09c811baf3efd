package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"armcurve/cmd/internal/report"
)

// output is where and how a result is written.
type output struct {
	format string
	file   string
	page   string // a page of HTML
	force  bool
	quiet  bool
	wide   bool

	document report.Document // the one written last
}

var formats = []string{"text", "csv", "json", "markdown"}

// endings give the format of a file by its ending.
var endings = map[string]string{".txt": "text", ".csv": "csv", ".json": "json", ".md": "markdown"}

func (o *output) bind(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&o.format, "format", "text", "`format` of the standard output: text, csv, json or markdown")
	flags.VarP((*fileFlag)(&o.file), "output", "o", "save a copy in this `file`, in the format of its ending: .txt, .csv, .json or .md")
	flags.Var((*fileFlag)(&o.page), "report", "write a page with pictures into this `file`, .html")
	flags.BoolVar(&o.force, "force", false, "overwrite existing files")
	flags.BoolVarP(&o.quiet, "quiet", "q", false, "nothing on standard output")
	flags.BoolVar(&o.wide, "wide", false, "every column and every finding on the screen")
}

// fileFlag is the flag of a file to write, that is given once: a second one would
// quietly take the place of the first.
type fileFlag string

func (f *fileFlag) String() string { return string(*f) }

func (f *fileFlag) Type() string { return "file" }

func (f *fileFlag) Set(name string) error {
	if *f != "" {
		return fmt.Errorf("%s is given already; want one file", *f)
	}
	*f = fileFlag(name)
	return nil
}

// check refuses, before the work, what could not be written after it.
func (o *output) check(inputs []string) error {
	if !slices.Contains(formats, o.format) {
		return fmt.Errorf("--format is %q: want text, csv, json or markdown", o.format)
	}
	if o.file != "" && o.fileFormat() == "" {
		return fmt.Errorf("--output is %q: want an ending of .txt, .csv, .json or .md", o.file)
	}
	if o.page != "" && !slices.Contains(pageEndings, strings.ToLower(filepath.Ext(o.page))) {
		return fmt.Errorf("--report is %q: want an ending of .html", o.page)
	}
	for _, name := range []string{o.file, o.page} {
		if name == "" {
			continue
		}
		if err := o.writable(name, inputs); err != nil {
			return err
		}
	}
	return nil
}

// writable refuses a file that is an input, or cannot be written.
func (o *output) writable(name string, inputs []string) error {
	for _, input := range inputs {
		if sameFile(input, name) {
			return fmt.Errorf("%s is both input and output: want another name for the output", name)
		}
	}
	if dir := filepath.Dir(name); !isFolder(dir) {
		return fmt.Errorf("%s: no folder %s; want one that exists", name, dir)
	}
	return o.free(name)
}

// fileFormat is the format of the file to write; "" for an ending of none.
func (o *output) fileFormat() string { return endings[strings.ToLower(filepath.Ext(o.file))] }

func isFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}

// free refuses to overwrite.
func (o *output) free(name string) error {
	info, err := os.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fileError(name, err)
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s is not a regular file: want a file's name for the output", name)
	case !o.force:
		return hint(fmt.Errorf("%s exists already", name), "--force overwrites it")
	}
	return nil
}

func sameFile(a, b string) bool {
	infoA, errA := os.Stat(a)
	infoB, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(infoA, infoB)
}

// result is what a command has to say, in every form.
type result struct {
	document report.Document
	json     func() any
}

// write puts the result on standard output and into the files asked for. CSV is
// the table alone: where there is none, standard error says why.
func (o *output) write(streams Streams, r result) error {
	o.document = r.document
	if err := o.writePage(r.document); err != nil {
		return err
	}
	noTable := !r.document.HasData()
	if noTable && (o.format == "csv" && !o.quiet || o.fileFormat() == "csv") {
		fmt.Fprintln(streams.Err, "no table to write: "+whyNone(r.document))
	}
	if o.file != "" && !(noTable && o.fileFormat() == "csv") {
		var b bytes.Buffer
		if err := r.render(&b, o.fileFormat(), o.wide); err != nil {
			return err
		}
		if err := writeWhole(o.file, b.Bytes()); err != nil {
			return err
		}
	}
	if o.quiet {
		return nil
	}
	return r.render(streams.Out, o.format, o.wide)
}

// whyNone is the reason for which a document has no table: its first finding, of
// the files or of a sensor, or else its verdict.
func whyNone(d report.Document) string {
	findings := slices.Clone(d.Findings)
	for _, section := range d.Sections {
		findings = append(findings, section.Findings...)
	}
	if len(findings) == 0 {
		return d.Sentence
	}
	return findings[0].Text
}

func (r result) render(w io.Writer, format string, wide bool) error {
	switch format {
	case "csv":
		return report.CSV(w, r.document)
	case "json":
		return report.JSON(w, r.json())
	case "markdown":
		return report.Markdown(w, r.document)
	}
	return report.Text(w, r.document, report.TextOptions{Wide: wide})
}

// writeWhole writes a file so that it appears whole or not at all: under
// another name in the same folder, then renamed. A file that it replaces keeps
// its mode.
func writeWhole(name string, content []byte) error {
	return writeStream(name, func(w io.Writer) error {
		_, err := w.Write(content)
		return err
	})
}

// writeStream writes a file in the same way, as it comes.
func writeStream(name string, write func(io.Writer) error) error {
	mode := fs.FileMode(0o644)
	if info, err := os.Stat(name); err == nil {
		mode = info.Mode().Perm()
	}
	temp, err := os.CreateTemp(filepath.Dir(name), ".armcurve-*")
	if err != nil {
		return fileError(name, err)
	}
	err = write(temp)
	err = errors.Join(err, temp.Chmod(mode), temp.Sync(), temp.Close())
	if err == nil {
		err = os.Rename(temp.Name(), name)
	}
	if err != nil {
		os.Remove(temp.Name())
		return fileError(name, err)
	}
	return nil
}
