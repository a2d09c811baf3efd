package cli

import (
	"bytes"
	"flag"
	"io"
	"os"
	"path/filepath"
	"testing"

	"armcurve/cmd/internal/report"
)

var update = flag.Bool("update", false, "write the picture that the README shows")

// The picture in the README is the one that the demo's page has.
func TestReadmePicture(t *testing.T) {
	d, err := runDemo(Streams{Out: io.Discard, Err: io.Discard}, demoSteps[0])
	if err != nil {
		t.Fatal(err)
	}
	var got bytes.Buffer
	if err := report.Picture(&got, d.Sections[0].Charts()[0]); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join("testdata", "demo.svg")
	if *update {
		if err := os.WriteFile(name, got.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got.Bytes(), want) {
		t.Error("the picture in the README is out of date: make readme-picture renews it")
	}
}
