package csvfile

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"armcurve/captures"
)

func TestWriteOnlyWhatIsKnown(t *testing.T) {
	var b strings.Builder
	err := WriteReadings(&b, []captures.Reading{
		{Sensor: captures.Crank, RPM: 0, NoiseV: some(0.04)},
		{Sensor: captures.Crank, RPM: 212.5, PeakV: some(1.0 / 3), Clipped: true, Note: "a, \"b\"\nc"},
	})
	if err != nil {
		t.Fatal(err)
	}
	want := "rpm,peak_v,noise_v,clipped,note\n" +
		"0,,0.04,,\n" +
		"212.5,0.3333333333333333,,yes,\"a, \"\"b\"\" c\"\n"
	if b.String() != want {
		t.Errorf("got:\n%s\nwant:\n%s", b.String(), want)
	}
}

func TestWriteNamesTheSensorsOfTwo(t *testing.T) {
	var b strings.Builder
	err := WriteReadings(&b, []captures.Reading{{Sensor: captures.Crank, RPM: 300, PeakV: some(1)}, {Sensor: captures.Cam, RPM: 300, PeakV: some(2)}})
	if want := "rpm,sensor,peak_v\n300,crank,1\n300,cam,2\n"; err != nil || b.String() != want {
		t.Errorf("got %q, %v; want %q", b.String(), err, want)
	}
}

func TestWriteNothing(t *testing.T) {
	if err := WriteReadings(&strings.Builder{}, nil); err == nil {
		t.Error("no error for no readings")
	}
}

type fullDisk struct{}

var errFull = errors.New("disk full")

func (fullDisk) Write([]byte) (int, error) { return 0, errFull }

func TestWriteError(t *testing.T) {
	if err := WriteReadings(fullDisk{}, []captures.Reading{{RPM: 300, PeakV: some(1)}}); !errors.Is(err, errFull) {
		t.Errorf("got %v; want the writer's error", err)
	}
}

func roundTrip(t *testing.T, written []captures.Reading) {
	t.Helper()
	var b strings.Builder
	if err := WriteReadings(&b, written); err != nil {
		t.Fatal(err)
	}
	file, err := ReadReadings(strings.NewReader(b.String()), "back.csv", ReadingsOptions{})
	if err != nil {
		t.Fatalf("%v\nreading back:\n%s", err, b.String())
	}
	for i := range written {
		written[i].Pos, written[i].ReadAs = captures.Pos{}, captures.Peak
	}
	for i := range file.Readings {
		file.Readings[i].Pos = captures.Pos{}
	}
	if diff := cmp.Diff(written, file.Readings); diff != "" {
		t.Errorf("readings changed on the way (-written +read):\n%s\n%s", diff, b.String())
	}
}

// Whatever is accepted is written so that it reads back the same; whatever is
// not has errors that each name a line of the file.
func FuzzReadings(f *testing.F) {
	for _, seed := range []string{
		"rpm,peak_v\n300,1.5\n",
		"rpm;rms_mv;note\n300;1,5;\"a;b\"\n",
		"rpm\tpeak_to_peak_v\tclipped\n300\t1e-320\tyes\n",
		"rpm,noise_v,sensor\n0,0.04,cam\n0,0.04,cam\n",
		"\xff\xfer\x00p\x00m\x00", "\ufeffrpm,peak_v\r300,-1\r", "rpm,peak_v\n\"", "#\n\n,,\n300,1,9",
		"rpm,peak_v,condition,note,x_y\n12.345,0.5,#a,\xb0 \u00a0 b,\n",
		"rpm,weakest_v,noise_rms_v,hump_v\n300,2,1,9\n",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		file, err := ReadReadings(strings.NewReader(text), "run.csv", ReadingsOptions{})
		if err != nil {
			checkPositions(t, text, err)
			return
		}
		if len(file.Readings) == 0 {
			t.Fatal("neither a reading nor an error")
		}
		roundTrip(t, file.Readings)
	})
}

func checkPositions(t *testing.T, text string, err error) {
	t.Helper()
	lines := strings.Count(text, "\n") + strings.Count(text, "\r") + 2
	for _, e := range lineErrors(t, err) {
		if e.Pos.File != "run.csv" || e.Pos.Line < 1 || e.Pos.Line > lines || e.Text == "" {
			t.Errorf("error without a place or a text: %+v", e)
		}
	}
}
