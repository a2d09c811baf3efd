package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"armcurve/captures"
	"armcurve/captures/csvfile"
)

// source is a file to read, or the standard input.
type source struct {
	name      string
	open      func() (io.ReadCloser, error)
	noiseOnly bool // a capture in which everything is noise
}

// standardInput is what names the standard input on the command line.
const (
	standardInput     = "-"
	standardInputName = "standard input"
)

// sources are the files named; a folder stands for the readings in it. A file
// that is named twice is read once, which a finding tells.
func sources(names []string, stdin io.Reader) ([]source, []captures.Finding, error) {
	var list []source
	var findings []captures.Finding
	for i, name := range names {
		if earlier, found := namedBefore(names[:i], name); found {
			if name == standardInput {
				return nil, nil, errors.New("- is given twice: want the standard input once")
			}
			findings = append(findings, namedTwice(earlier, name))
			continue
		}
		some, err := sourcesOf(name, stdin)
		if err != nil {
			return nil, nil, err
		}
		list = append(list, some...)
	}
	return list, findings, nil
}

func sourcesOf(name string, stdin io.Reader) ([]source, error) {
	if name == standardInput {
		return []source{{name: standardInputName, open: func() (io.ReadCloser, error) { return io.NopCloser(stdin), nil }}}, nil
	}
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return nil, fileError(name, err)
	case info.IsDir():
		return folder(name)
	}
	return []source{file(name)}, nil
}

// namedBefore finds the name, earlier in a list, of the same file.
func namedBefore(earlier []string, name string) (string, bool) {
	for _, other := range earlier {
		if other == name || sameFile(other, name) {
			return other, true
		}
	}
	return "", false
}

func namedTwice(earlier, name string) captures.Finding {
	f := captures.Finding{Kind: "duplicate", Severity: captures.Note, Text: name + " is given twice and was read once"}
	if earlier != name {
		f.Text = fmt.Sprintf("%s is the same file as %s and was read once", name, earlier)
	}
	return f
}

func file(name string) source {
	return source{name: name, open: func() (io.ReadCloser, error) { return open(name) }}
}

// folder lists the readings in a folder, by name. Tables, setups and notes lie
// in a job folder too and are passed over.
func folder(name string) ([]source, error) {
	entries, err := os.ReadDir(name)
	if err != nil {
		return nil, fileError(name, err)
	}
	var list []source
	for _, entry := range entries {
		path := filepath.Join(name, entry.Name())
		if entry.IsDir() || strings.ToLower(filepath.Ext(path)) != ".csv" {
			continue
		}
		kind, err := kindOf(path)
		if err != nil {
			return nil, err
		}
		if kind == csvfile.Readings {
			list = append(list, file(path))
		}
	}
	if len(list) == 0 {
		return nil, hint(fmt.Errorf("%s: no file of readings in this folder", name), "captures in it are named one by one")
	}
	return list, nil
}

func open(name string) (*os.File, error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%s: this is a folder; want a file", name)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fileError(name, err)
	}
	return f, nil
}

func readFile(name string) ([]byte, error) {
	f, err := open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	content, err := io.ReadAll(f)
	if err != nil {
		return nil, fileError(name, err)
	}
	return content, nil
}

// fileError names the file and what is wrong with it, and not the call that
// found out.
func fileError(name string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: %w", name, errNoFile)
	}
	return fmt.Errorf("%s: %w", name, cause(err))
}

// cause is the reason of an error of the file system, without the name of the
// call and of the file.
func cause(err error) error {
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &path):
		return path.Err
	case errors.As(err, &link):
		return link.Err
	}
	return err
}

// noFile is fs.ErrNotExist in the same words on every system.
type noFile struct{}

func (noFile) Error() string        { return "no such file" }
func (noFile) Is(target error) bool { return target == fs.ErrNotExist }

var errNoFile error = noFile{}
