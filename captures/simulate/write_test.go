package simulate

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"
)

// What is written reads back as the samples, to the recorder's step.
func TestWriteCSV(t *testing.T) {
	rig := busyRig(t)
	rig.StartS, rig.LengthS = -0.001, 0.05
	want, _ := record(t, rig, 8192)
	source, err := Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := WriteCSV(&out, source); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(rows[0], " "); got != "time_s crank_v cam_v" || len(rows) != 5001 {
		t.Fatalf("header %q and %d rows, want 5001", got, len(rows))
	}
	if rows[1][0] != "-0.00100" || rows[101][0] != "0.00000" {
		t.Errorf("times %q and %q, want -0.00100 and 0.00000", rows[1][0], rows[101][0])
	}
	for i, row := range rows[1:] {
		for c := range want {
			if v, err := strconv.ParseFloat(row[1+c], 64); err != nil || math.Abs(v-want[c][i]) > 1e-9 {
				t.Fatalf("row %d: %q, want %g", i, row[1+c], want[c][i])
			}
		}
	}
}

func TestDigits(t *testing.T) {
	for step, want := range map[float64]int{1: 0, 0.5: 1, 0.005: 3, 1e-5: 5, 4e-6: 6, 1.0 / 16000: 7, 1.0 / 3: 9} {
		if got := digits(step); got != want {
			t.Errorf("a step of %g takes %d decimals, want %d", step, got, want)
		}
	}
}

type brokenWriter struct{}

var errBroken = errors.New("broken")

func (brokenWriter) Write([]byte) (int, error) { return 0, errBroken }

func TestWritersPassErrorsOn(t *testing.T) {
	source, err := Open(testRig(t, "36-1"))
	if err != nil {
		t.Fatal(err)
	}
	truth := Listen(source)
	if err := WriteCSV(brokenWriter{}, source); !errors.Is(err, errBroken) {
		t.Errorf("capture: %v", err)
	}
	if err := truth.WriteTeeth(brokenWriter{}); !errors.Is(err, errBroken) {
		t.Errorf("teeth: %v", err)
	}
	if err := truth.WriteJSON(brokenWriter{}); !errors.Is(err, errBroken) {
		t.Errorf("truth: %v", err)
	}
	if err := soundTable.WriteCSV(brokenWriter{}); !errors.Is(err, errBroken) {
		t.Errorf("table: %v", err)
	}
}

// The truth beside a capture has the teeth as a list and the rest as JSON.
func TestWriteTruth(t *testing.T) {
	rig := busyRig(t)
	rig.Sensors[0].Reversed = true
	source, err := Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	truth := Listen(source)
	readAll(source)

	var list, file bytes.Buffer
	if err := truth.WriteTeeth(&list); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&list).ReadAll()
	if err != nil || len(rows) != 1+len(truth.Teeth) {
		t.Fatalf("%d rows for %d teeth: %v", len(rows), len(truth.Teeth), err)
	}
	unseen := 0
	for _, row := range rows[1:] {
		if row[0] == "crank" && row[5] == "1" {
			unseen++
		}
	}

	if err := truth.WriteJSON(&file); err != nil {
		t.Fatal(err)
	}
	var back struct {
		Rig     struct{ Sensors []struct{ Wheel string } }
		Sensors []struct {
			Wheel, Polarity, Signal string
			Teeth                   int
			TeethUnseen             int `json:"teeth_unseen"`
			Levels                  []struct {
				RPM   float64
				PeakV float64 `json:"peak_v"`
			}
			Turns []struct{ RPM float64 }
		}
	}
	if err := json.Unmarshal(file.Bytes(), &back); err != nil {
		t.Fatal(err)
	}
	crank, cam := back.Sensors[0], back.Sensors[1]
	if crank.Wheel != "36-2-2-2" || back.Rig.Sensors[0].Wheel != "36-2-2-2" || crank.Teeth != 30 ||
		crank.Polarity != "reversed" || crank.Signal != "reluctor" || cam.Signal != "square" {
		t.Errorf("sensors are %+v", back.Sensors)
	}
	if unseen == 0 || crank.TeethUnseen != unseen {
		t.Errorf("%d teeth unseen, %d in the list", crank.TeethUnseen, unseen)
	}
	if len(crank.Turns) < 20 || len(crank.Levels) < 10 {
		t.Errorf("%d turns and %d levels", len(crank.Turns), len(crank.Levels))
	}
	for i := 1; i < len(crank.Levels); i++ {
		if !(crank.Levels[i].RPM > crank.Levels[i-1].RPM && crank.Levels[i].PeakV > crank.Levels[i-1].PeakV) {
			t.Errorf("level %d: %+v after %+v", i, crank.Levels[i], crank.Levels[i-1])
		}
	}
}
