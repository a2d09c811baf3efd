package setup

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/spf13/cobra"

	"armcurve/captures"
	"armcurve/captures/csvfile"
	"armcurve/threshold"
)

var every = []Group{Input, Engine, Margins, Files}

// load reads a setup file of the given text, none if it is empty, and flags.
func load(file string, args ...string) (Setup, error) {
	cmd := &cobra.Command{}
	flags := AddFlags(cmd, every...)
	if err := cmd.ParseFlags(args); err != nil {
		return Setup{}, err
	}
	return flags.Load(func(name string) ([]byte, error) {
		if file == "" || name != DefaultFile {
			return nil, fmt.Errorf("open %s: %w", name, fs.ErrNotExist)
		}
		return []byte(file), nil
	})
}

func mustLoad(t *testing.T, file string, args ...string) Setup {
	t.Helper()
	s, err := load(file, args...)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

var some = captures.Some

const full = `
[crank]
wheel = "36-1"
shaft = "cam"
diameter_mm = 180
channel = 2
arming_side = "negative"
counts_on = "level"
threshold_min_v = 0.1
threshold_max_v = 5
step_v = 0.02
between_rows = "step"
speed_from = "tooth"
hysteresis_v = 0.05
clamp_v = 12.5
filter_hz = 20_000
at = [0, 200, 6500]
axis_step_rpm = 50

[cam]
wheel = "@0,180,420"
channel = "B"

[engine]
cranking_rpm = "180-240"
cranking_ripple = 0.3
limit_rpm = 7200
reachable_rpm = 4000

[margins]
signal = 2.5
signal_cranking = 1.6
noise = 1.3
preferred_fraction = 0.5
weakest_ratio = 0.9
gap_hump = 0.1
reading_scatter = 0.02
noise_exposure_s = 3600
cranking_exposure_s = 30
noise_rate_hz = 15000
noise_reach = 1.5
confidence = 0.99

[captures]
volts_times = 10
invert = true
full_scale_v = 2
sample_interval = "250kHz"
delimiter = "semicolon"
decimal = ","
time_unit = "ms"
volts_unit = "mv"
`

func fullSetup(t *testing.T) Setup {
	wheel, wheelErr := captures.ParseWheel("36-1")
	camWheel, camErr := captures.ParseWheel("@0,180,420")
	if err := errors.Join(wheelErr, camErr); err != nil {
		t.Fatal(err)
	}
	shared := threshold.Options{
		Margins:        threshold.Margins{Signal: 2.5, SignalCranking: 1.6, Noise: 1.3, PreferredFraction: 0.5},
		CrankingLowRPM: 180, CrankingRPM: 240, CrankingRipple: some(0.3), LimitRPM: some(7200), ReachableRPM: some(4000),
		WeakestRatio: 0.9, GapHump: 0.1, ReadingScatter: 0.02,
		NoiseExposureS: 3600, CrankingExposureS: 30, NoiseRateHz: 15000, NoiseReach: 1.5, Confidence: 0.99,
	}
	crank, cam := shared, shared
	crank.Wheel, crank.Shaft = wheel, captures.Cam
	crank.Input = threshold.Input{MinV: some(0.1), MaxV: some(5), StepV: 0.02, BetweenRows: threshold.Step, HysteresisV: 0.05, ClampV: some(12.5)}
	crank.Axis = threshold.Axis{AtRPM: []float64{0, 200, 6500}, Rows: 8, StepRPM: 50, Fixed: true}
	cam.Wheel, cam.Shaft = camWheel, captures.Cam
	cam.Input, cam.Axis = threshold.DefaultOptions().Input, threshold.DefaultOptions().Axis
	return Setup{
		File: DefaultFile, Sensor: captures.Crank,
		Crank: Sensor{Options: crank, DiameterMM: some(180), Channel: "2", ArmsNegative: true, CountsOnLevel: true, SpeedFromTooth: true, FilterHz: some(20000)},
		Cam:   Sensor{Options: cam, Channel: "B"},
		Captures: Captures{
			VoltsTimes: 10, Invert: true, FullScaleV: some(2), SampleIntervalS: some(4e-6),
			Dialect: csvfile.Dialect{Delimiter: ';', Decimal: ','}, TimeUnit: "ms", VoltsUnit: "mV",
		},
	}
}

var ignoreAssumed = cmpopts.IgnoreFields(Setup{}, "Assumed")

func TestEveryKey(t *testing.T) {
	if diff := cmp.Diff(fullSetup(t), mustLoad(t, full), ignoreAssumed); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// The same by flags alone, those of the cam in a file.
func TestEveryFlag(t *testing.T) {
	got := mustLoad(t, "[cam]\nwheel = \"@0,180,420\"\n",
		"--wheel=36-1", "--shaft=cam", "--diameter-mm=180", "--channel=crank=2,cam=B", "--arming-side=negative", "--counts-on=level",
		"--threshold-min-v=0.1", "--threshold-max-v=5", "--step-v=0.02", "--between-rows=step", "--speed-from=tooth",
		"--hysteresis-v=0.05", "--clamp-v=12.5", "--filter-hz=20000", "--at=0, 200,6500", "--axis-step=50",
		"--cranking-rpm=180-240", "--cranking-ripple=0.3", "--limit-rpm=7200", "--reachable-rpm=4000",
		"--signal-margin=2.5", "--signal-cranking-margin=1.6", "--noise-margin=1.3", "--preferred-fraction=0.5",
		"--weakest-ratio=0.9", "--gap-hump=0.1", "--reading-scatter=0.02", "--noise-exposure-s=3600", "--cranking-exposure-s=30",
		"--noise-rate-hz=15000", "--noise-reach=1.5", "--confidence=0.99",
		"--volts-times=10", "--invert", "--full-scale=2", "--sample-interval=4us", "--delimiter=;", "--decimal=comma", "--time-unit=ms", "--volts-unit=mV")
	if diff := cmp.Diff(fullSetup(t), got, ignoreAssumed); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestNothingStated(t *testing.T) {
	got := mustLoad(t, "")
	cam := threshold.DefaultOptions()
	cam.Shaft = captures.Cam
	want := Setup{Sensor: captures.Crank, Crank: Sensor{Options: threshold.DefaultOptions()}, Cam: Sensor{Options: cam}, Captures: Captures{VoltsTimes: 1}}
	if diff := cmp.Diff(want, got, ignoreAssumed); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestPrecedence(t *testing.T) {
	const file = "[crank]\nstep_v = 0.05\nrows = 10\nchannel = \"A\"\n[cam]\nstep_v = 0.06\n[engine]\ncranking_rpm = 300\n"

	s := mustLoad(t, file, "--step-v", "0.1", "--cranking-rpm", "250", "--at", "0,500")
	if s.Crank.Options.Input.StepV != 0.1 || s.Cam.Options.Input.StepV != 0.06 {
		t.Errorf("a flag speaks of the crank: steps are %v and %v", s.Crank.Options.Input.StepV, s.Cam.Options.Input.StepV)
	}
	if s.Crank.CrankingRPM != 250 || s.Cam.CrankingRPM != 250 || s.Crank.CrankingLowRPM != 187.5 {
		t.Errorf("cranking is %v to %v and up to %v", s.Crank.CrankingLowRPM, s.Crank.CrankingRPM, s.Cam.CrankingRPM)
	}
	if len(s.Crank.Axis.AtRPM) != 2 || s.Cam.Axis.AtRPM != nil {
		t.Errorf("--at over rows: %v and %v", s.Crank.Axis, s.Cam.Axis)
	}

	s = mustLoad(t, file, "--sensor=cam", "--step-v=0.1", "--channel=C")
	if s.Crank.Options.Input.StepV != 0.05 || s.Cam.Options.Input.StepV != 0.1 || s.Crank.Channel != "A" || s.Cam.Channel != "C" {
		t.Errorf("with --sensor cam: %v %q and %v %q", s.Crank.Options.Input.StepV, s.Crank.Channel, s.Cam.Options.Input.StepV, s.Cam.Channel)
	}

	s = mustLoad(t, "[crank]\nat = [0, 500]\n", "--rows=12")
	if axis := s.Crank.Axis; axis.AtRPM != nil || axis.Rows != 12 || !axis.Best || axis.Auto {
		t.Errorf("--rows over at: %v", axis)
	}
	if axis := mustLoad(t, "[crank]\nat = [0, 500]\n", "--rows=auto").Crank.Axis; axis.AtRPM != nil || !axis.Auto {
		t.Errorf("--rows auto over at: %v", axis)
	}
	if axis := mustLoad(t, "[crank]\nrows = \"auto\"\n", "--rows=6").Crank.Axis; axis.Rows != 6 || !axis.Best || axis.Auto {
		t.Errorf("--rows over rows = auto: %v", axis)
	}
	if s = mustLoad(t, file, "--setup=none"); s.File != "" || s.Crank.Options.Input.StepV != 0.01 {
		t.Errorf("with --setup none: file %q, step %v", s.File, s.Crank.Options.Input.StepV)
	}
	if s = mustLoad(t, file); s.File != DefaultFile || s.Crank.Axis.Rows != 10 {
		t.Errorf("by itself: file %q, rows %v", s.File, s.Crank.Axis.Rows)
	}
	if s = mustLoad(t, "\ufeff[crank]\r\nstep_v = 1\r\n"); s.Crank.Options.Input.StepV != 1 {
		t.Errorf("with a byte order mark: step %v", s.Crank.Options.Input.StepV)
	}
	if s = mustLoad(t, "[captures]\ninvert = true\n", "--invert=false"); s.Captures.Invert {
		t.Error("--invert=false does not win over the file")
	}
	if s = mustLoad(t, "", "--channel", "ignition=on"); s.Crank.Channel != "ignition=on" {
		t.Errorf("a channel with an equals sign is %q", s.Crank.Channel)
	}
}

func TestSetupFileByName(t *testing.T) {
	name := t.TempDir() + "/car.toml"
	if err := os.WriteFile(name, []byte("[crank]\nstep_v = 0.5\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := &cobra.Command{}
	flags := AddFlags(cmd)
	if err := cmd.ParseFlags([]string{"--setup", name}); err != nil {
		t.Fatal(err)
	}
	s, err := flags.Load(os.ReadFile)
	if err != nil || s.File != name || s.Crank.Options.Input.StepV != 0.5 {
		t.Errorf("got %q, step %v, %v", s.File, s.Crank.Options.Input.StepV, err)
	}
	if cmd.Flags().Lookup("step-v") != nil {
		t.Error("a flag of a group that was not asked for")
	}
}

func TestUnreadableFile(t *testing.T) {
	denied := errors.New("open armcurve.toml: permission denied")
	_, err := AddFlags(&cobra.Command{}).Load(func(string) ([]byte, error) { return nil, denied })
	if !errors.Is(err, denied) {
		t.Errorf("got %v; want %v", err, denied)
	}
}

func TestValues(t *testing.T) {
	for text, want := range map[string][2]float64{
		"300": {225, 300}, `"150-200"`: {150, 200}, `"150 – 200"`: {150, 200}, "[150, 200.5]": {150, 200.5}, `"200-200"`: {200, 200},
	} {
		s, err := load("[engine]\ncranking_rpm = " + text + "\n")
		if err != nil || s.Crank.CrankingLowRPM != want[0] || s.Crank.CrankingRPM != want[1] {
			t.Errorf("cranking_rpm = %s: %v to %v, %v", text, s.Crank.CrankingLowRPM, s.Crank.CrankingRPM, err)
		}
	}
	for text, want := range map[string]float64{
		"4e-6": 4e-6, `"250kHz"`: 4e-6, `"0.25 MHz"`: 4e-6, `"250000Hz"`: 4e-6, `"4us"`: 4e-6, `"4 µs"`: 4e-6, `"4000ns"`: 4e-6, `"0.004 ms"`: 4e-6, `"0.000004s"`: 4e-6,
	} {
		s, err := load("[captures]\nsample_interval = " + text + "\n")
		if err != nil || math.Abs(s.Captures.SampleIntervalS.Value/want-1) > 1e-12 {
			t.Errorf("sample_interval = %s: %v, %v", text, s.Captures.SampleIntervalS, err)
		}
	}
	for text, want := range map[string]rune{"comma": ',', ",": ',', ";": ';', "Tab": '\t', "\t": '\t', `\t`: '\t', " ": ' ', "pipe": '|'} {
		s, err := load("", "--delimiter="+text)
		if err != nil || s.Captures.Dialect.Delimiter != want {
			t.Errorf("--delimiter=%q: %q, %v", text, s.Captures.Dialect.Delimiter, err)
		}
	}
	if s := mustLoad(t, "[crank]\nwheel = 24\nat = \"0,500\"\n[captures]\nvolts_unit = \"µV\"\n"); s.Crank.Wheel.Pitches != 24 || len(s.Crank.Axis.AtRPM) != 2 || s.Captures.VoltsUnit != "uV" {
		t.Errorf("wheel %v, speeds %v, unit %q", s.Crank.Wheel, s.Crank.Axis.AtRPM, s.Captures.VoltsUnit)
	}
}

func TestFileErrors(t *testing.T) {
	const toml = `; want lines such as wheel = "36-1" or step_v = 0.01, texts in quotes, numbers with a decimal point`
	cases := []struct{ text, want string }{
		// The file.
		{"[crank]\nstep_v = \n", `armcurve.toml:2:10: unexpected character U+000A at start of value` + toml},
		{"[engine]\ncranking_rpm = 1,5\n", `armcurve.toml:2:17: expected newline but got U+002C ','` + toml},
		{"[crank]\nstep_v = 1\nstep_v = 2\n", `armcurve.toml:3:1: key step_v is already defined` + toml},
		{strings.Repeat("#", maxBytes+1), `armcurve.toml: found 262145 bytes; want a setup file, at most 262144`},
		// Sections and keys.
		{"crank = 5\n", `armcurve.toml:1:9: found crank that is not a section; want a line [crank] and its keys below`},
		{"[[crank]]\nwheel = 1\n", `armcurve.toml:1:3: found crank that is not a section; want a line [crank] and its keys below`},
		{"[cramk]\nstep_v = 1\n", `armcurve.toml:1:2: found section [cramk]; want [crank]`},
		{"[Crank]\nstep_v = 1\n", `armcurve.toml:2:1: found section [Crank]; want [crank]`},
		{"[gearbox]\nx = 1\n", `armcurve.toml:1:2: found section [gearbox]; want [crank], [cam], [engine], [margins] or [captures]`},
		{"step_v = 1\n", `armcurve.toml:1:1: found step_v outside its section; want it below a line [crank] or [cam]`},
		{"signal = 1\n", `armcurve.toml:1:1: found signal outside its section; want it below a line [margins]`},
		{"crank = {step_v = 1}\n", `armcurve.toml:1:10: found step_v outside its section; want it below a line [crank] or [cam]`},
		{"x = 1\n", `armcurve.toml:1:1: found x outside a section; want keys below a line [crank], [cam], [engine], [margins] or [captures]`},
		{"[crank]\n  step = 1\n", `armcurve.toml:2:3: found unknown key step in [crank]; did you mean step_v?`},
		{"[cam]\nlimit_rpm = 7000\n", `armcurve.toml:2:1: found limit_rpm in [cam]; want it below a line [engine]`},
		{"[engine]\nweather = 1\n", `armcurve.toml:2:1: found unknown key weather in [engine]; want one of cranking_rpm, cranking_ripple, limit_rpm, reachable_rpm`},
		{"[engine.low]\nlimit_rpm = 1\n", `armcurve.toml:1:2: found unknown key low in [engine]; want one of cranking_rpm, cranking_ripple, limit_rpm, reachable_rpm`},
		{"[crank]\nat = [0, 500]\nrows = 8\n", `armcurve.toml:3:1: key "rows": found at and rows; want one of them: the speeds of the rows, or how many to choose`},
		{"[crank]\nstep = 1\n[cam]\nrow = 1\n", "armcurve.toml:2:1: found unknown key step in [crank]; did you mean step_v?\narmcurve.toml:4:1: found unknown key row in [cam]; did you mean rows?"},
		// Types.
		{"[crank]\nstep_v = \"fine\"\n", `armcurve.toml:2:1: key "step_v": found "fine"; want a number, such as 0.01`},
		{"[crank]\nstep_v = \"0.1\"\n", `armcurve.toml:2:1: key "step_v": found "0.1"; want a number without quotes, such as 0.01`},
		{"[crank]\nstep_v = true\n", `armcurve.toml:2:1: key "step_v": found true; want a number, such as 0.01`},
		{"[crank]\nstep_v = [1, \"x\"]\n", `armcurve.toml:2:1: key "step_v": found [1, "x"]; want a number, such as 0.01`},
		{"[crank]\nstep_v.x = 1\n", `armcurve.toml:2:1: found unknown key step_v.x in [crank]; did you mean step_v?`},
		{"[crank]\nstep_v = {x = 1}\n", `armcurve.toml:2:1: key "step_v": found a table; want a number, such as 0.01`},
		{"[crank]\nstep_v = nan\n", `armcurve.toml:2:1: key "step_v": found NaN; want a finite number, such as 0.01`},
		{"[crank]\nclamp_v = -inf\n", `armcurve.toml:2:1: key "clamp_v": found -Inf; want a finite number, such as 5`},
		{"[crank]\nwheel = 1.5\n", `armcurve.toml:2:1: key "wheel": found 1.5; want a wheel in quotes, such as "36-1"`},
		{"[crank]\nwheel = \"36-\"\n", `armcurve.toml:2:1: key "wheel": wheel is "36-": want teeth and missing teeth, such as 36-1, 36-2-2-2 or 24, or angles such as @0,180,420`},
		{"[crank]\nshaft = 5\n", `armcurve.toml:2:1: key "shaft": found 5; want crank or cam`},
		{"[crank]\narming_side = \"up\"\n", `armcurve.toml:2:1: key "arming_side": found "up"; want positive or negative`},
		{"[crank]\ncounts_on = \"rise\"\n", `armcurve.toml:2:1: key "counts_on": found "rise"; want fall or level`},
		{"[crank]\nbetween_rows = \"spline\"\n", `armcurve.toml:2:1: key "between_rows": found "spline"; want linear or step`},
		{"[crank]\nspeed_from = \"gps\"\n", `armcurve.toml:2:1: key "speed_from": found "gps"; want revolution or tooth`},
		{"[crank]\nchannel = \"\"\n", `armcurve.toml:2:1: key "channel": found ""; want the name or the number of a channel`},
		{"[crank]\nat = 5\n", `armcurve.toml:2:1: key "at": found 5; want a list of numbers, such as 0, 200, 1000, 6500`},
		{"[crank]\nat = [0, \"x\"]\n", `armcurve.toml:2:1: key "at": found [0, "x"]; want a list of numbers, such as 0, 200, 1000, 6500`},
		{"[crank]\nat = [500]\n", `armcurve.toml:2:1: key "at": found [500]; want 2 to 64 speeds`},
		{"[crank]\nrows = 7.5\n", `armcurve.toml:2:1: key "rows": found 7.5; want a whole number, such as 8, or auto`},
		{"[engine]\ncranking_rpm = \"slow\"\n", `armcurve.toml:2:1: key "cranking_rpm": found "slow"; want a speed such as 200, or a range such as "150-200"`},
		{"[engine]\ncranking_rpm = [1, 2, 3]\n", `armcurve.toml:2:1: key "cranking_rpm": found [1, 2, 3]; want a speed such as 200, or a range such as "150-200"`},
		{"[captures]\ninvert = \"yes\"\n", `armcurve.toml:2:1: key "invert": found "yes"; want true or false`},
		{"[captures]\nsample_interval = \"4 furlongs\"\n", `armcurve.toml:2:1: key "sample_interval": found "4 furlongs"; want seconds above 0, a time such as 4us, or a rate such as 250kHz`},
		{"[captures]\nsample_interval = \"0Hz\"\n", `armcurve.toml:2:1: key "sample_interval": found "0Hz"; want seconds above 0, a time such as 4us, or a rate such as 250kHz`},
		{"[captures]\ndelimiter = \"dot\"\n", `armcurve.toml:2:1: key "delimiter": found "dot"; want comma, semicolon, tab, space or pipe`},
		{"[captures]\ndecimal = 1\n", `armcurve.toml:2:1: key "decimal": found 1; want point or comma`},
		{"[captures]\ntime_unit = \"h\"\n", `armcurve.toml:2:1: key "time_unit": found "h"; want s, ms, us or ns`},
		{"[captures]\nvolts_unit = \"A\"\n", `armcurve.toml:2:1: key "volts_unit": found "A"; want kV, V, mV or uV`},
		// Ranges.
		{"[crank]\nstep_v = -0.01\n", `armcurve.toml:2:1: key "step_v": found -0.01; want above 0`},
		{"[crank]\nstep_v = 0\n", `armcurve.toml:2:1: key "step_v": found 0; want above 0`},
		{"[cam]\nclamp_v = -5\n", `armcurve.toml:2:1: key "clamp_v": found -5; want above 0`},
		{"[crank]\nthreshold_min_v = 3\nthreshold_max_v = 2\n", `armcurve.toml:3:1: key "threshold_max_v": found 2; want above threshold_min_v`},
		{"[crank]\ndiameter_mm = 0\n", `armcurve.toml:2:1: key "diameter_mm": found 0; want a number above 0, such as 180`},
		{"[crank]\nfilter_hz = -1\n", `armcurve.toml:2:1: key "filter_hz": found -1; want a number above 0, such as 20000`},
		{"[crank]\nat = [0, 500, 500]\n", `armcurve.toml:2:1: key "at": found 500; want speeds from 0 to 30000 in rising order`},
		{"[crank]\nrows = 2\n", `armcurve.toml:2:1: key "rows": found 2; want 4 to 64`},
		{"[engine]\ncranking_rpm = \"200-150\"\n", `armcurve.toml:2:1: key "cranking_rpm": found 200; want a lower end above 0, not above the upper one`},
		{"[engine]\ncranking_rpm = -200\n", `armcurve.toml:2:1: key "cranking_rpm": found -200; want above 0, up to 2000`},
		{"[engine]\ncranking_rpm = 300\nlimit_rpm = 250\n", `armcurve.toml:3:1: key "limit_rpm": found 250; want above cranking, up to 30000`},
		{"[engine]\ncranking_ripple = 40\n", `armcurve.toml:2:1: key "cranking_ripple": found 40; want 0 to 0.6`},
		{"[margins]\nsignal = 1\n", `armcurve.toml:2:1: key "signal": found 1; want above 1`},
		{"[margins]\nconfidence = 95\n", `armcurve.toml:2:1: key "confidence": found 95; want 0.5 to below 1`},
		{"[margins]\npreferred_fraction = 40\n", `armcurve.toml:2:1: key "preferred_fraction": found 40; want between 0 and 1`},
		{"[captures]\nvolts_times = 0\n", `armcurve.toml:2:1: key "volts_times": found 0; want a factor from 0.001 to 1000, such as 10`},
		{"[captures]\nfull_scale_v = inf\n", `armcurve.toml:2:1: key "full_scale_v": found +Inf; want a finite number, such as 2`},
	}
	for _, c := range cases {
		if _, err := load(c.text); err == nil || err.Error() != c.want {
			t.Errorf("%.80q:\n got %v\nwant %s", c.text, err, c.want)
		}
	}
}

func TestFlagErrors(t *testing.T) {
	cases := []struct{ arg, want string }{
		{"--sensor=left", `--sensor: found "left"; want crank or cam`},
		{"--setup=missing.toml", `--setup: open missing.toml: file does not exist`},
		{"--step-v=fine", `--step-v: found "fine"; want a number, such as 0.01`},
		{"--step-v=0x10", `--step-v: found "0x10"; want a number, such as 0.01`},
		{"--step-v=inf", `--step-v: found "inf"; want a number, such as 0.01`},
		{"--step-v=1e400", `--step-v: found "1e400"; want a number, such as 0.01`},
		{"--step-v=1_000", `--step-v: found "1_000"; want a number, such as 0.01`},
		{"--step-v=-1", `--step-v: found -1; want above 0`},
		{"--wheel=5-5", `--wheel: wheel has 5 of 5 teeth missing: want at least one left`},
		{"--at=0,x", `--at: found "0,x"; want a list of numbers, such as 0, 200, 1000, 6500`},
		{"--channel=crank=A,cam=", `--channel: found ""; want the name or the number of a channel`},
		{"--invert=maybe", `--invert: found "maybe"; want true or false`},
		{"--confidence=2", `--confidence: found 2; want 0.5 to below 1`},
	}
	for _, c := range cases {
		if _, err := load("", c.arg); err == nil || err.Error() != c.want {
			t.Errorf("%s:\n got %v\nwant %s", c.arg, err, c.want)
		}
	}
	const want = "--rows: found at and rows; want one of them: the speeds of the rows, or how many to choose"
	if _, err := load("", "--at=0,500", "--rows=8"); err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
	// Every wrong flag has its line.
	if _, err := load("", "--step-v=x", "--rows=y"); err == nil || strings.Count(err.Error(), "\n") != 1 {
		t.Errorf("two wrong flags: %v", err)
	}
}

// A limit that a flag sets is judged beside the file's value, and the flag is
// named.
func TestFlagAgainstFile(t *testing.T) {
	const want = `--limit-rpm: found 250; want above cranking, up to 30000`
	if _, err := load("[engine]\ncranking_rpm = 300\nlimit_rpm = 7000\n", "--limit-rpm=250"); err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}

func TestAssumed(t *testing.T) {
	lines := func(s Setup, sensor string, keys ...string) []string {
		var list []string
		for _, a := range s.Assumed {
			for _, key := range keys {
				if a.Key == key && a.Sensor == sensor {
					list = append(list, a.String())
				}
			}
		}
		return list
	}
	s := mustLoad(t, "")
	got := append(lines(s, "", "cranking_rpm", "signal", "reading_scatter", "volts_times"), lines(s, captures.Cam, "step_v", "shaft")...)
	want := []string{
		"cranking at 150 to 200 rpm (--cranking-rpm)",
		"weakest tooth wanted at 2 × the threshold from 3 × cranking up (--signal-margin)",
		"one reading scatters by 3 % (standard deviation) (--reading-scatter)",
		"voltages as at the sensor (--volts-times)",
		"wheel on the camshaft (--shaft with --sensor cam)",
		"thresholds in steps of 0.01 V (--step-v with --sensor cam)",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}

	stated := mustLoad(t, full)
	if got := lines(stated, captures.Crank, "step_v", "rows", "axis_step_rpm", "shaft"); got != nil {
		t.Errorf("stated, and yet assumed: %v", got)
	}
	if got := len(lines(stated, captures.Cam, "step_v", "rows", "axis_step_rpm", "shaft")); got != 4 {
		t.Errorf("%d of 4 of the cam are assumed", got)
	}
	for _, a := range stated.Assumed {
		if a.Sensor != captures.Cam {
			t.Errorf("stated, and yet assumed: %v", a)
		}
	}
}

// Every key that has a default is assumed where it is not stated; the others
// are those that are read from the input or chosen.
func TestEveryDefaultIsAssumed(t *testing.T) {
	assumed := map[string]bool{}
	for _, a := range mustLoad(t, "").Assumed {
		if a.Text == "" || a.Flag == "--" {
			t.Errorf("empty assumption: %+v", a)
		}
		assumed[a.Key] = true
	}
	without := "reachable_rpm wheel diameter_mm channel at invert full_scale_v sample_interval delimiter decimal time_unit volts_unit"
	for _, s := range settings {
		if assumed[s.key] == strings.Contains(" "+without+" ", " "+s.key+" ") {
			t.Errorf("%s: assumed is %v", s.key, assumed[s.key])
		}
	}
}

// The template states nothing, and with every line taken in, the defaults.
func TestTemplate(t *testing.T) {
	if diff := cmp.Diff(mustLoad(t, "").Assumed, mustLoad(t, Template).Assumed); diff != "" {
		t.Errorf("the template states something:\n%s", diff)
	}

	commented := regexp.MustCompile(`(?m)^# (\w+ = )`)
	whole := commented.ReplaceAllString(Template, "$1")
	whole = regexp.MustCompile(`(?m)^at = .*$`).ReplaceAllString(whole, "")
	got := mustLoad(t, whole)
	want := threshold.DefaultOptions()
	want.Wheel, _ = captures.ParseWheel("36-1")
	want.Input.MinV, want.Input.MaxV, want.Input.HysteresisV, want.Input.ClampV = some(0), some(5), 0.05, some(5)
	want.Axis.Fixed, want.Axis.Best = true, true
	want.CrankingRipple, want.LimitRPM, want.ReachableRPM = some(threshold.DefaultRipple), some(7000), some(4200)
	if diff := cmp.Diff(want, got.Crank.Options); diff != "" {
		t.Errorf("the template's values are not the defaults (-want +got):\n%s", diff)
	}
	for _, s := range settings {
		if !strings.Contains(Template, "\n# "+s.key+" = ") {
			t.Errorf("the template lacks %s", s.key)
		}
	}
}

// Every flag's usage names its argument, and no two settings share a flag.
func TestFlagUsage(t *testing.T) {
	cmd := &cobra.Command{}
	AddFlags(cmd, every...)
	for _, s := range settings {
		if s.key != "invert" && strings.Count(s.usage, "`") != 2 {
			t.Errorf("--%s does not name its argument", s.flag)
		}
	}
}

// Whatever a file holds, it is read or refused with its name, and never with a
// value that the libraries refuse.
func FuzzFile(f *testing.F) {
	for _, seed := range []string{full, Template, "[crank]\nat=[[1]]\n", "crank={a=1}\ncam.b.c=2", "[[captures]]", "[\"a.b\".c]\nd=1979-05-27", "[engine]\ncranking_rpm=\"-\""} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := load(text)
		switch {
		case err != nil && !strings.HasPrefix(err.Error(), DefaultFile+":"):
			t.Errorf("%q: error without the file's name: %v", text, err)
		case err == nil && (s.Crank.Validate() != nil || s.Cam.Validate() != nil || s.Captures.VoltsTimes <= 0):
			t.Errorf("%q: accepted, and cannot be used", text)
		}
	})
}
