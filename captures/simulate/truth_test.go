package simulate

import (
	"math"
	"testing"

	"armcurve/captures"
)

// A sinusoidal flux through a coil of 1000 Ω and 0.5 H into 4.7 kΩ, 1 mV for
// each electrical rad/s, 60 teeth: peak volts and lag in crank degrees as in
// closed form, k·ω·RL/√((Rc+RL)² + (ωL)²) and atan(ωL/(Rc+RL))/60, confirmed
// with ngspice 39.3.
func TestPeakAndLagOfALoadedCoil(t *testing.T) {
	rig := testRig(t, "60")
	s := &rig.Sensors[0]
	s.Coil = Coil{ResistanceOhm: 1000, InductanceH: 0.5, LoadOhm: 4700}
	s.GapMM = 1.2 * s.pitchMM() // leaves the fundamental alone
	s.LinkageVS = 1e-3 / (2 * 0.5 * sinc(0.5) * sinc(0.3) * math.Exp(-2*math.Pi*1.2))
	for _, want := range []struct{ rpm, peakV, lagDeg float64 }{
		{250, 1.283094970, 0.130755594}, {500, 2.497342809, 0.256784190}, {1000, 4.537344751, 0.481027449},
		{2000, 6.962043701, 0.796436894}, {4000, 8.560518292, 1.093355929}, {6000, 8.997615895, 1.219582963},
		{8000, 9.167192765, 1.287028679},
	} {
		rig.Speed, rig.LengthS = Steady(want.rpm), 90/want.rpm
		_, teeth := record(t, rig, 4096)
		if len(teeth) < 80 {
			t.Fatalf("%g rpm: %d teeth in one and a half turns", want.rpm, len(teeth))
		}
		for _, tooth := range teeth {
			if math.Abs(tooth.PeakV/want.peakV-1) > 2e-4 {
				t.Errorf("%g rpm: peak %.6f V, want %.6f V", want.rpm, tooth.PeakV, want.peakV)
			}
			angle := tooth.TimeS*want.rpm*6 - 360*float64(tooth.Turn) - 6*float64(tooth.Number-1)
			if math.Abs(angle-want.lagDeg) > 2e-4 {
				t.Errorf("%g rpm: lag %.6f°, want %.6f°", want.rpm, angle, want.lagDeg)
			}
		}
	}
}

// The truth's instants are where the wave without noise, made again with thirty
// samples for one, falls through zero; its peaks are not passed.
func TestTruthLiesOnTheWave(t *testing.T) {
	for _, wheel := range []string{"36-1", "60-2", "12-1", "36-2-2-2", "@10,130,400"} {
		rig := testRig(t, wheel)
		rig.Speed, rig.LengthS = Pull(700, 7500, 0.3), 0.3
		rig.Sensors[0].OnCam = wheel[0] == '@'
		_, teeth := record(t, rig, 1000)
		rig.SampleHz *= 30
		fine, _ := record(t, rig, 1<<16)
		v := fine[0]
		for _, tooth := range teeth {
			at := tooth.TimeS * rig.SampleHz
			i := int(at)
			if i < 3 || i+4 >= len(v) {
				continue
			}
			if !(v[i-3] > 0 && v[i+4] < 0) {
				t.Fatalf("%s: tooth %d at %.9f s: wave is %.6f V before and %.6f V after", wheel, tooth.Number, tooth.TimeS, v[i-3], v[i+4])
			}
			top := 0.0
			for ; i > 0 && v[i-1] > 0 || v[i] < 0; i-- {
				top = max(top, v[i])
			}
			if math.Abs(tooth.PeakV/top-1) > 1e-3 {
				t.Errorf("%s: tooth %d at %.6f s: peak %.6f V, the wave reaches %.6f V", wheel, tooth.Number, tooth.TimeS, tooth.PeakV, top)
			}
		}
	}
}

// Teeth come in order, none twice, none left out; gaps are missing + 1 pitches
// long between falls through zero. Counts: 58 of 60-2, 35 of 36-1, 34 of 36-2,
// 23 of 24-1, 11 of 12-1.
func TestTeethOfAllWheels(t *testing.T) {
	for wheel, present := range map[string]int{
		"60-2": 58, "36-1": 35, "36-2": 34, "24-1": 23, "12-1": 11, "24": 24, "36-2-2-2": 30, "4": 4, "@0,100,300": 3, "@0": 1,
	} {
		for _, rpm := range []float64{150, 1000, 8000} {
			rig := testRig(t, wheel)
			rig.Speed, rig.LengthS, rig.StartDeg = Steady(rpm), 10*60/rpm, 3
			rig.Sensors[0].Coil.InductanceH = 0.05
			_, teeth := record(t, rig, 8192)
			if off := math.Abs(float64(len(teeth)) - 10*float64(present)); off > 1 {
				t.Errorf("%s at %g rpm: %d teeth in 10 turns, want %d", wheel, rpm, len(teeth), 10*present)
			}
			for i := 1; i < len(teeth); i++ {
				a, b := teeth[i-1], teeth[i]
				if b.Number != a.Number%present+1 || b.Unseen {
					t.Fatalf("%s at %g rpm: tooth %d after tooth %d", wheel, rpm, b.Number, a.Number)
				}
				pitches := (b.TimeS - a.TimeS) * rpm / 60 * float64(max(rig.Sensors[0].Wheel.Pitches, 360))
				checkInterval(t, &rig.Sensors[0], b, pitches)
			}
		}
	}
}

func checkInterval(t *testing.T, s *Sensor, tooth Tooth, found float64) {
	t.Helper()
	w := s.Wheel
	want, tolerance := 0.0, 0.25 // teeth beside a gap lean towards it
	i := tooth.Number - 1
	if w.Pitches > 0 {
		before := (i + w.TeethPresent() - 1) % w.TeethPresent()
		want = float64((w.Positions[i]-w.Positions[before]+w.Pitches-1)%w.Pitches + 1)
		found *= float64(w.Pitches) / float64(max(w.Pitches, 360))
	} else {
		before := (i + len(w.AnglesDeg) - 1) % len(w.AnglesDeg)
		want = math.Mod(w.AnglesDeg[i]-w.AnglesDeg[before]+720, 360)
		if want == 0 {
			want = 360
		}
		tolerance = 2
	}
	if math.Abs(found-want) > tolerance {
		t.Errorf("%s: %.3f pitches before tooth %d, want %g", w, found, tooth.Number, want)
	}
}

// With m teeth missing, right wiring shows one interval of m + 1 pitches a turn;
// swapped wires, or slots, show two of (m + 2)/2 instead.
func TestPolarityShowsInTheIntervals(t *testing.T) {
	for _, turned := range []struct {
		reversed, slotted bool
		long              float64
	}{{false, false, 3}, {true, false, 2}, {false, true, 2}, {true, true, 3}} {
		rig := testRig(t, "60-2")
		rig.Sensors[0].Reversed, rig.Sensors[0].Slotted = turned.reversed, turned.slotted
		wave, teeth := record(t, rig, 8192)
		longest, before := 0.0, math.NaN()
		for i := 1; i < len(wave[0]); i++ {
			a, b := wave[0][i-1], wave[0][i]
			if a > 0 && b <= 0 {
				at := (float64(i) - b/(b-a)) / rig.SampleHz * 1000 // pitches at 1000 rpm
				longest, before = max(longest, at-before), at
			}
		}
		if math.Abs(longest-turned.long) > 0.1 {
			t.Errorf("%+v: longest interval %.3f pitches, want %g", turned, longest, turned.long)
		}
		if math.Abs(float64(len(teeth))-58*1000.0/60*rig.LengthS) > 1 {
			t.Errorf("%+v: truth has %d teeth", turned, len(teeth))
		}
	}
}

// A tooth broken off and teeth lost in a dropout are unseen, at the instants
// where they would have been, and the count goes on.
func TestUnseenTeeth(t *testing.T) {
	rig := testRig(t, "36-1")
	s := &rig.Sensors[0]
	_, whole := record(t, rig, 8192)
	s.Short = []ShortTooth{{Tooth: 7, MM: 50}}
	s.Dropouts = []Window{{FromS: 0.2, UntilS: 0.205}}
	wave, teeth := record(t, rig, 8192)
	if len(teeth) != len(whole) {
		t.Fatalf("%d teeth, want %d", len(teeth), len(whole))
	}
	for i, tooth := range teeth {
		lost := tooth.TimeS >= 0.2 && tooth.TimeS < 0.2055 // its peak is a quarter pitch earlier
		if want := tooth.Number == 7 || lost; tooth.Unseen != want {
			t.Errorf("tooth %d at %.5f s: unseen is %v", tooth.Number, tooth.TimeS, tooth.Unseen)
		}
		if math.Abs(tooth.TimeS-whole[i].TimeS) > 1e-4 {
			t.Errorf("tooth %d at %.6f s, want %.6f s", tooth.Number, tooth.TimeS, whole[i].TimeS)
		}
	}
	for i := 20000; i < 20500; i++ {
		if wave[0][i] != 0 {
			t.Fatalf("in the dropout: %g V", wave[0][i])
		}
	}
}

// Turns have the mean of the regular teeth, the weakest of all, the mean speed
// and the ripple; levels agree with a steady turn.
func TestTurnsAndLevels(t *testing.T) {
	rig := testRig(t, "36-1")
	rig.Sensors[0].Short = []ShortTooth{{Tooth: 20, MM: 1}}
	rig.Speed, rig.Ripple, rig.LengthS = Steady(200), Ripple{Share: 0.4, AtRPM: 200, Cylinders: 4}, 1.4
	source, err := Open(rig)
	if err != nil {
		t.Fatal(err)
	}
	truth := Listen(source)
	readAll(source)
	if len(truth.Turns) != 3 {
		t.Fatalf("%d turns, want 3", len(truth.Turns))
	}
	for _, turn := range truth.Turns {
		if math.Abs(turn.RPM/200-1) > 2e-3 || math.Abs(turn.Ripple-0.4) > 0.01 {
			t.Errorf("turn at %.3f s: %.3f rpm, ripple %.4f, want 200 and 0.4", turn.StartS, turn.RPM, turn.Ripple)
		}
	}

	rig.Ripple, rig.LengthS, rig.Speed = Ripple{}, 0.1, Steady(3000)
	source, _ = Open(rig)
	truth = Listen(source)
	readAll(source)
	levels, err := Levels(rig.Sensors[0], []float64{3000})
	if err != nil {
		t.Fatal(err)
	}
	sum, lowest := 0.0, math.Inf(1)
	for _, tooth := range truth.Teeth[:35] {
		lowest = min(lowest, tooth.PeakV)
		if tooth.Number != 1 {
			sum += tooth.PeakV
		}
	}
	for name, pair := range map[string][2]captures.Maybe{
		"mean by hand":    {levels[0].PeakV, captures.Some(sum / 34)},
		"weakest by hand": {levels[0].WeakestV, captures.Some(lowest)},
		"mean":            {levels[0].PeakV, truth.Turns[0].PeakV},
		"weakest":         {levels[0].WeakestV, truth.Turns[0].WeakestV},
	} {
		if !pair[0].Known || math.Abs(pair[0].Value/pair[1].Value-1) > 1e-4 {
			t.Errorf("%s: level %v V, turn %v V", name, pair[0], pair[1])
		}
	}
}

// Nothing that disturbs the wires moves the truth.
func TestTroubleLeavesTheTruthAlone(t *testing.T) {
	rig := testRig(t, "36-1")
	_, plain := record(t, rig, 8192)
	s := &rig.Sensors[0]
	s.Noise = []Noise{{SigmaV: 0.5, RateHz: 10e3}, {SigmaV: 0.1}}
	s.Tones = []Tone{{AmplitudeV: 1, Hz: 4000}}
	s.Sparks = []Spark{{AnglesDeg: []float64{0, 180}, HeightV: 3, AtRPM: 1000, DecayS: 1e-4}}
	s.Recorder = Recorder{OffsetV: 1, RangeV: 2, StepV: 0.1, ACCoupleS: 0.01}
	s.Reversed = true
	_, troubled := record(t, rig, 8192)
	if len(plain) != len(troubled) {
		t.Fatalf("%d teeth, want %d", len(troubled), len(plain))
	}
	for i := range plain {
		if plain[i] != troubled[i] {
			t.Fatalf("tooth %d: %+v, want %+v", i, troubled[i], plain[i])
		}
	}
}
