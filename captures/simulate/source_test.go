package simulate

import (
	"io"
	"math"
	"strings"
	"testing"

	"armcurve/captures"
)

func readAll(s *Source) {
	var block captures.Block
	for s.Next(&block) != io.EOF {
	}
}

// busyRig has everything in it.
func busyRig(t testing.TB) Rig {
	rig := testRig(t, "36-2-2-2")
	rig.Speed, rig.Ripple = Pull(500, 6000, 0.5), Ripple{Share: 0.3, AtRPM: 250, Cylinders: 6}
	s := &rig.Sensors[0]
	s.Noise = []Noise{{SigmaV: 0.03, RateHz: 7000}, {SigmaV: 0.01}}
	s.Tones = []Tone{{AmplitudeV: 0.1, PerTurn: 33.3, GrowsFromRPM: 2000}}
	s.Sparks = []Spark{{AnglesDeg: []float64{10, 250, 490}, HeightV: 2, AtRPM: 4000, Power: 2, RingHz: 9000, DecayS: 1e-4, Jitter: 0.1}}
	s.Dropouts = []Window{{0.1, 0.102}, {0.3, 0.301}}
	s.CrossS = 1e-6
	s.Recorder = Recorder{StepV: 0.01, RangeV: 15, ACCoupleS: 0.5}
	cam := *s
	cam.Name, cam.OnCam, cam.SquareV = captures.Cam, true, 5
	rig.Sensors = append(rig.Sensors, cam)
	return rig
}

// The same rig gives the same bits, whatever the blocks; another seed does not.
func TestSameRigSameSamples(t *testing.T) {
	rig := busyRig(t)
	want, wantTeeth := record(t, rig, 8192)
	for _, blockLen := range []int{1, 7, 1000, 1 << 20} {
		got, teeth := record(t, rig, blockLen)
		for c := range want {
			if len(got[c]) != 50000 {
				t.Fatalf("blocks of %d: %d samples, want 50000", blockLen, len(got[c]))
			}
			for i := range want[c] {
				if got[c][i] != want[c][i] {
					t.Fatalf("blocks of %d: channel %d sample %d is %v, want %v", blockLen, c, i, got[c][i], want[c][i])
				}
			}
		}
		if len(teeth) != len(wantTeeth) {
			t.Errorf("blocks of %d: %d teeth, want %d", blockLen, len(teeth), len(wantTeeth))
		}
	}
	rig.Seed++
	other, _ := record(t, rig, 8192)
	if other[0][1000] == want[0][1000] && other[0][2000] == want[0][2000] && other[0][3000] == want[0][3000] {
		t.Error("another seed gives the same samples")
	}
}

// Adding a disturbance adds to the samples and redraws nothing else.
func TestPartsDrawForThemselves(t *testing.T) {
	rig := testRig(t, "36-1")
	rig.Sensors[0].Noise = []Noise{{SigmaV: 0.1, RateHz: 5000}}
	first, _ := record(t, rig, 8192)
	rig.Sensors[0].Sparks = []Spark{{AnglesDeg: []float64{100}, HeightV: 2, AtRPM: 1000, RingHz: 9000, DecayS: 2e-5, Jitter: 0.1}}
	second, _ := record(t, rig, 8192)
	same := 0
	for i := range first[0] {
		if first[0][i] == second[0][i] {
			same++
		}
	}
	if same < len(first[0])/2 {
		t.Errorf("only %d of %d samples away from the sparks are unchanged", same, len(first[0]))
	}
}

// The sample rate and the finer steps behind it do not change the wave.
func TestSampleRateDoesNotChangeTheWave(t *testing.T) {
	rig := testRig(t, "36-1")
	rig.Speed, rig.LengthS = Pull(3000, 9000, 0.1), 0.1
	rig.Sensors[0].Coil = Coil{ResistanceOhm: 1000, InductanceH: 0.5, LoadOhm: 100e3, CapacitanceF: 2e-9}
	coarse, _ := record(t, rig, 8192)
	rig.SampleHz *= 8
	fine, _ := record(t, rig, 8192)
	for i, v := range coarse[0] {
		if math.Abs(v-fine[0][8*i]) > 2e-3*35 {
			t.Fatalf("sample %d: %.5f V, eight times as fine %.5f V", i, v, fine[0][8*i])
		}
	}
}

// Making samples allocates nothing, so a capture's length costs no memory.
func TestNextAllocatesNothing(t *testing.T) {
	rig := busyRig(t)
	rig.LengthS = 1e6
	source, err := Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	source.SetBlock(1000)
	var block captures.Block
	if n := testing.AllocsPerRun(50, func() {
		if err := source.Next(&block); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%g allocations a block, want none", n)
	}
}

func TestInfo(t *testing.T) {
	rig := busyRig(t)
	rig.StartS = -0.25
	source, err := Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	info := source.Info()
	if info.StartS != -0.25 || info.StepS != 1e-5 || len(info.Channels) != 2 || info.Channels[1].Name != "cam_v" {
		t.Errorf("info is %+v", info)
	}
	truth := Listen(source)
	readAll(source)
	if first := truth.Teeth[0].TimeS; first < -0.25 || first > -0.2 {
		t.Errorf("first tooth at %g s, want it in the file's own time", first)
	}
	var _ captures.Source = source
}

func TestWrongRigs(t *testing.T) {
	for want, spoil := range map[string]func(*Rig){
		"sample rate":   func(r *Rig) { r.SampleHz = 0 },
		"length":        func(r *Rig) { r.LengthS = math.NaN() },
		"start":         func(r *Rig) { r.StartDeg = 720 },
		"speed profile": func(r *Rig) { r.Speed = nil },
		"want a time":   func(r *Rig) { r.Speed = Profile{{1, 100}, {1, 200}} },
		"ripple":        func(r *Rig) { r.Ripple.Share = 1 },
		"cylinders":     func(r *Rig) { r.Ripple = Ripple{Share: 0.1, AtRPM: 200} },
		"sensors":       func(r *Rig) { r.Sensors = nil },
		"both named":    func(r *Rig) { r.Sensors = append(r.Sensors, r.Sensors[0]) },
		"out of order":  func(r *Rig) { r.Sensors[0].Wheel = captures.Wheel{AnglesDeg: []float64{90, 0}} },
		"not given":     func(r *Rig) { r.Sensors[0].Wheel = captures.Wheel{} },
		"beyond":        func(r *Rig) { r.Sensors[0].Wheel = captures.Wheel{AnglesDeg: []float64{0, 400}} },
		"air left":      func(r *Rig) { r.Sensors[0].RunOutMM = 1 },
		"diameter":      func(r *Rig) { r.Sensors[0].DiameterMM = 0 },
		"strength":      func(r *Rig) { r.Sensors[0].LinkageVS = math.Inf(1) },
		"short tooth":   func(r *Rig) { r.Sensors[0].Short = []ShortTooth{{Tooth: 36}} },
		"coil":          func(r *Rig) { r.Sensors[0].Coil.LoadOhm = -1 },
		"inductance":    func(r *Rig) { r.Sensors[0].Coil = Coil{CapacitanceF: 1e-9} },
		"noise rate":    func(r *Rig) { r.Sensors[0].Noise = []Noise{{SigmaV: 1, RateHz: 40e3}} },
		"tone":          func(r *Rig) { r.Sensors[0].Tones = []Tone{{AmplitudeV: 1, Hz: 60e3}} },
		"spark":         func(r *Rig) { r.Sensors[0].Sparks = []Spark{{}} },
		"dropout":       func(r *Rig) { r.Sensors[0].Dropouts = []Window{{2, 1}} },
		"cross-talk":    func(r *Rig) { r.Sensors[0].CrossS = math.NaN() },
		"recorder":      func(r *Rig) { r.Sensors[0].Recorder.StepV = -1 },
	} {
		rig := testRig(t, "36-1")
		spoil(&rig)
		if _, err := Open(rig); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error on %q, found %v", want, err)
		}
	}
}

// Whatever the rig, it is refused with a reason or gives finite samples.
func FuzzOpen(f *testing.F) {
	f.Add("36-1", 100e3, 1000.0, 1.0, 0.3, 0.5, 850.0, 0.4, 15e3, 1e-9, 0.1, 9000.0)
	f.Add("@0,3,700", 3.0, 50000.0, 0.02, 0.9, 100.0, 0.0, 1e-9, 0.0, 1e-3, 3.0, 0.0)
	f.Add("1", 1e8, 1e-3, 1e5, 0.0, 0.1, 1e9, 1e9, 1e-9, 1e9, 1e-9, 1e4)
	f.Fuzz(func(t *testing.T, wheel string, sampleHz, rpm, gapMM, ripple, toothMM, ohm, henry, load, farad, sigmaV, rateHz float64) {
		w, err := captures.ParseWheel(wheel)
		if err != nil {
			return
		}
		source, err := Open(Rig{
			SampleHz: sampleHz, LengthS: 1000 / sampleHz, Speed: Pull(rpm, 2*rpm, 0.01), Ripple: Ripple{ripple, 200, 4},
			Sensors: []Sensor{{
				Wheel: w, OnCam: true, DiameterMM: 100, GapMM: gapMM, ToothMM: toothMM, LinkageVS: 1e-3,
				Coil: Coil{ohm, henry, load, farad}, Noise: []Noise{{SigmaV: sigmaV, RateHz: rateHz}},
			}},
		})
		if err != nil {
			return
		}
		teeth := 0
		source.Watch(func(Tooth) { teeth++ })
		source.SetBlock(300)
		var block captures.Block
		samples := 0
		for source.Next(&block) != io.EOF {
			samples += block.Len()
			for _, v := range block.V[0] {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("sample is %v", v)
				}
			}
		}
		if samples != 1000 {
			t.Errorf("%d samples, want 1000", samples)
		}
	})
}
