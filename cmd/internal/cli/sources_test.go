package cli

import (
	"errors"
	"io/fs"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestSources(t *testing.T) {
	folderOf(t, map[string]string{"b.csv": twoReadings, "a.csv": twoReadings, "table.csv": goodTable, "note.txt": "rpm,peak_v\n"})
	for _, c := range []struct {
		names, want string
		told        int
	}{
		{"b.csv a.csv", "b.csv a.csv", 0},
		{".", "a.csv b.csv", 0},
		{"a.csv ./a.csv a.csv", "a.csv", 2},
		{"- a.csv", "standard input|a.csv", 0},
	} {
		list, findings, err := sources(strings.Fields(c.names), nil)
		if err != nil {
			t.Errorf("%s: %v", c.names, err)
			continue
		}
		var got []string
		for _, s := range list {
			got = append(got, s.name)
		}
		want := strings.FieldsFunc(c.want, func(r rune) bool { return r == '|' || r == ' ' && !strings.Contains(c.want, "|") })
		if diff := cmp.Diff(want, got); diff != "" || len(findings) != c.told {
			t.Errorf("%s: %d findings, (-want +got):\n%s", c.names, len(findings), diff)
		}
	}
	for given, want := range map[string]string{
		"nowhere.csv": "nowhere.csv: no such file",
		"- -":         "- is given twice: want the standard input once",
	} {
		if _, _, err := sources(strings.Fields(given), nil); err == nil || err.Error() != want {
			t.Errorf("%s: %v; want %s", given, err, want)
		}
	}
	if err := os.Mkdir("empty", 0o755); err != nil {
		t.Fatal(err)
	}
	if _, _, err := sources([]string{"empty"}, nil); err == nil || !strings.HasPrefix(err.Error(), "empty: no ") {
		t.Errorf("an empty folder: %v", err)
	}
}

// A file that is not there is told in the same words everywhere, and is still
// what it is to whoever asks.
func TestFileErrors(t *testing.T) {
	folderOf(t, nil)
	_, err := readFile("nowhere.toml")
	if !errors.Is(err, fs.ErrNotExist) || err.Error() != "nowhere.toml: no such file" {
		t.Errorf("got %v", err)
	}
	if _, err := readFile("."); err == nil || err.Error() != ".: this is a folder; want a file" {
		t.Errorf("got %v", err)
	}
}
