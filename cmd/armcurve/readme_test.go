package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"armcurve/cmd/internal/cli"
)

// readme is the README from this folder; an absolute path, since its commands
// change folders.
var readme, _ = filepath.Abs("../../README.md")

// consoles finds the README's console blocks.
var consoles = regexp.MustCompile("(?s)```console\n(.*?)```\n")

// TestReadme runs the commands of the README's console blocks, one after the
// other in one folder, and compares what they print. With -update it writes
// what they print into the README instead.
func TestReadme(t *testing.T) {
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	ran := consoles.ReplaceAllStringFunc(string(text), func(block string) string {
		return "```console\n" + replay(t, consoles.FindStringSubmatch(block)[1]) + "```\n"
	})
	if *update {
		if err := os.WriteFile(readme, []byte(ran), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(string(text), ran); diff != "" {
		t.Errorf("the README shows another output (-README +run); make golden renews it:\n%s", diff)
	}
}

// replay runs the commands of a block and returns the block with their output.
func replay(t *testing.T, block string) string {
	var out bytes.Buffer
	for line := range strings.Lines(block) {
		command, isCommand := strings.CutPrefix(strings.TrimSpace(line), "$ ")
		if !isCommand {
			continue
		}
		fmt.Fprintf(&out, "$ %s\n", command)
		runShown(t, &out, strings.Fields(command))
	}
	return out.String()
}

func runShown(t *testing.T, out *bytes.Buffer, words []string) {
	switch words[0] {
	case "cd":
		t.Chdir(words[1])
	case "cat":
		content, err := os.ReadFile(words[1])
		if err != nil {
			t.Fatal(err)
		}
		out.Write(content)
	case "armcurve":
		code := cli.Run(words[1:], cli.Streams{In: strings.NewReader(""), Out: out, Err: out})
		if code != 0 {
			fmt.Fprintf(out, "exit %d\n", code)
		}
	default:
		t.Fatalf("the README runs %q: want cd, cat or armcurve", words[0])
	}
}
