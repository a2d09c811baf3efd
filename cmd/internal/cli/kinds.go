package cli

import (
	"errors"
	"fmt"
	"io"
	"os"

	"armcurve/captures/csvfile"
)

// headBytes is how much of a file tells its kind.
const headBytes = 64 << 10

func kindOf(name string) (csvfile.Kind, error) {
	f, err := open(name)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	head, err := readHead(f)
	if err != nil {
		return 0, fileError(name, err)
	}
	return csvfile.Sniff(head), nil
}

func readHead(r io.Reader) ([]byte, error) {
	head := make([]byte, headBytes)
	n, err := io.ReadFull(r, head)
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
		err = nil
	}
	return head[:n], err
}

// sheetHint says what propose, check and compare work on.
const sheetHint = "readings are a list with a header: rpm and one of peak_v, peak_to_peak_v, rms_v; armcurve start DIR makes a sheet to fill in"

// commandFor says which command wants a file or a folder.
func commandFor(name string) (string, error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return "for the readings in this folder: armcurve propose " + name, nil
	}
	kind, err := kindOf(name)
	if err != nil {
		return "", err
	}
	switch kind {
	case csvfile.Table:
		return "these are thresholds: armcurve check --table " + name + " READINGS", nil
	case csvfile.Readings:
		return "these are readings: armcurve propose " + name, nil
	}
	return sheetHint, nil
}

// wrongTable refuses a table where readings or captures are wanted.
func wrongTable(name string) error {
	file := name
	if name == standardInputName {
		file = "FILE"
	}
	return hint(fmt.Errorf("%s: this is a table of thresholds; want readings or captures", name),
		"armcurve check --table "+file+" READINGS judges it, armcurve investigate --table "+file+" CAPTURE plays it")
}

// wantTable refuses a file of another kind, and says where it belongs.
func wantTable(name string, kind csvfile.Kind) error {
	switch kind {
	case csvfile.Readings:
		return hint(fmt.Errorf("%s: these are readings; want a table of thresholds", name),
			"armcurve propose "+name+" makes a table of them")
	case csvfile.Wave:
		return hint(fmt.Errorf("%s: this is a WAV recording; want a table of thresholds", name), tableHint)
	}
	return nil
}
