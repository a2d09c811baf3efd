package cli

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// names lists what is in a folder.
func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	list := []string{}
	for _, entry := range entries {
		list = append(list, entry.Name())
	}
	return list
}

func content(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestWriteWhole(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out.csv")
	for _, text := range []string{"first", "second, which is longer", ""} {
		if err := writeWhole(name, []byte(text)); err != nil {
			t.Fatal(err)
		}
		if got := content(t, name); got != text {
			t.Errorf("wrote %q; want %q", got, text)
		}
	}
	if diff := cmp.Diff([]string{"out.csv"}, names(t, dir)); diff != "" {
		t.Errorf("in the folder (-want +got):\n%s", diff)
	}
}

// A new file can be read by others; one that is replaced keeps its mode.
func TestModes(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no modes there")
	}
	name := filepath.Join(t.TempDir(), "out.csv")
	for _, mode := range []fs.FileMode{0o644, 0o600, 0o640} {
		if err := writeWhole(name, nil); err != nil {
			t.Fatal(err)
		}
		if mode != 0o644 {
			if err := os.Chmod(name, mode); err != nil {
				t.Fatal(err)
			}
			if err := writeWhole(name, nil); err != nil {
				t.Fatal(err)
			}
		}
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		if got := info.Mode().Perm(); got != mode {
			t.Errorf("mode is %o; want %o", got, mode)
		}
	}
}

// Whatever goes wrong, the old file is as it was and nothing else is left.
func TestFailedWritesLeaveNothing(t *testing.T) {
	dir := t.TempDir()
	old := filepath.Join(dir, "old.csv")
	if err := os.WriteFile(old, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	shelf := filepath.Join(dir, "shelf")
	if err := os.MkdirAll(filepath.Join(shelf, "book"), 0o755); err != nil {
		t.Fatal(err)
	}
	half := func(w io.Writer) error {
		io.WriteString(w, "half of it")
		return io.ErrUnexpectedEOF
	}
	if err := writeStream(old, half); !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Errorf("half of a file: %v", err)
	}
	if err := writeStream(filepath.Join(dir, "new.csv"), half); err == nil {
		t.Error("half of a new file was written")
	}
	if err := writeWhole(shelf, nil); err == nil || strings.Contains(err.Error(), ".armcurve") {
		t.Errorf("over a folder: %v", err)
	}
	if err := writeWhole(filepath.Join(dir, "nowhere", "out.csv"), nil); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("into no folder: %v", err)
	}
	if got := content(t, old); got != "old" {
		t.Errorf("the old file holds %q", got)
	}
	if diff := cmp.Diff([]string{"old.csv", "shelf"}, names(t, dir)); diff != "" {
		t.Errorf("in the folder (-want +got):\n%s", diff)
	}
}

func TestOutputsThatAreRefused(t *testing.T) {
	dir := folderOf(t, map[string]string{"in.csv": "", "old.csv": ""})
	if err := os.Mkdir("shelf.csv", 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("in.csv", "link.csv"); err != nil && runtime.GOOS != "windows" {
		t.Fatal(err)
	}
	if err := os.Link("in.csv", "hard.csv"); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name  string
		force bool
		want  string
	}{
		{"new.csv", false, ""},
		{"NEW.JSON", false, ""},
		{"old.csv", true, ""},
		{"old.csv", false, "old.csv exists already"},
		{"in.csv", true, "in.csv is both input and output: want another name for the output"},
		{"./in.csv", true, "./in.csv is both input and output: want another name for the output"},
		{filepath.Join(dir, "in.csv"), true, filepath.Join(dir, "in.csv") + " is both input and output: want another name for the output"},
		{"hard.csv", true, "hard.csv is both input and output: want another name for the output"},
		{"link.csv", true, "link.csv is both input and output: want another name for the output"},
		{"shelf.csv", true, "shelf.csv is not a regular file: want a file's name for the output"},
		{"new.html", false, `--output is "new.html": want an ending of .txt, .csv, .json or .md`},
		{"new", false, `--output is "new": want an ending of .txt, .csv, .json or .md`},
		{"no/new.csv", false, "no/new.csv: no folder no; want one that exists"},
	} {
		o := output{format: "text", file: c.name, force: c.force}
		got := ""
		if err := o.check([]string{"in.csv", "", "-"}); err != nil {
			got = err.Error()
		}
		if got != c.want && runtime.GOOS != "windows" {
			t.Errorf("%s, force %v: %q; want %q", c.name, c.force, got, c.want)
		}
	}
}

// What is no regular file is not replaced by one: a link, a device.
func TestOnlyFilesAreReplaced(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no devices there")
	}
	folderOf(t, map[string]string{"target.csv": "kept"})
	if err := os.Symlink("target.csv", "link.csv"); err != nil {
		t.Fatal(err)
	}
	o := output{force: true}
	for _, name := range []string{"link.csv", os.DevNull} {
		if err := o.free(name); err == nil || !strings.Contains(err.Error(), "is not a regular file") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Whatever ends a command before its result leaves no file.
func TestNoFileAfterFailure(t *testing.T) {
	dir := folderOf(t, map[string]string{"good.csv": goodReadings, "bad.csv": "rpm,peak_v\nx,1\n", "table.csv": goodTable})
	before := names(t, dir)
	for _, args := range []string{
		"propose bad.csv -o out.csv", "propose table.csv -o out.csv", "propose nowhere.csv -o out.csv", "propose good.csv bad.csv -o out.csv",
		"check --table bad.csv good.csv -o out.csv", "check --table table.csv bad.csv -o out.json", "check good.csv -o out.csv",
		"compare --before good.csv --after bad.csv -o out.md", "compare --before good.csv -o out.csv",
		"propose good.csv --rows 3 -o out.csv", "propose good.csv --format pdf -o out.csv", "propose good.csv -o nowhere/out.csv",
	} {
		if code, _, _ := run(strings.Fields(args)...); code != exitBad {
			t.Errorf("armcurve %s: exit code %d", args, code)
		}
		if diff := cmp.Diff(before, names(t, dir)); diff != "" {
			t.Errorf("armcurve %s leaves (-before +after):\n%s", args, diff)
		}
	}
}
