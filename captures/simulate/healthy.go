package simulate

import "armcurve/captures"

// What the invented engine is made of. Its crank sensor gives some 0.8 V while
// cranking at 200 rpm and over 20 V at 7000.

// crankSensor is a sound sensor on a crank wheel.
func crankSensor(wheel string) Sensor {
	return Sensor{
		Name: captures.Crank, Wheel: mustWheel(wheel), DiameterMM: 150, GapMM: 1, LinkageVS: 3e-3,
		Coil:     Coil{ResistanceOhm: 850, InductanceH: 0.4, LoadOhm: 15e3},
		Noise:    []Noise{{SigmaV: 0.012, SigmaPerRPMV: 4e-6, RateHz: 9000}},
		Recorder: Recorder{StepV: 0.005, RangeV: 40},
	}
}

// unevenSensor is the same on a wheel with two gaps near each other and one
// opposite.
func unevenSensor() Sensor {
	s := crankSensor("36")
	wheel, err := UnevenWheel(36, Gap{2, 2}, Gap{17, 2}, Gap{20, 2})
	if err != nil {
		panic(err) // a slip in a constant of this package, met by its tests
	}
	s.Wheel = wheel
	return s
}

// camSensor is a sound sensor on a cam wheel with three uneven teeth.
func camSensor() Sensor {
	return Sensor{
		Name: captures.Cam, Wheel: mustWheel("@60,240,480"), OnCam: true, DiameterMM: 60, ToothMM: 6,
		GapMM: 0.8, LinkageVS: 16e-3,
		Coil:     Coil{ResistanceOhm: 900, InductanceH: 0.35, LoadOhm: 15e3},
		Noise:    []Noise{{SigmaV: 0.010, SigmaPerRPMV: 2e-6, RateHz: 8000}},
		Recorder: Recorder{StepV: 0.005, RangeV: 40},
	}
}

// ignition is what four cylinders leave on the wires.
func ignition(heightV float64) Spark {
	return Spark{
		AnglesDeg: []float64{95, 275, 455, 635}, HeightV: heightV, AtRPM: 7000, Power: 2,
		RingHz: 11e3, DecayS: 6e-5, Jitter: 0.08,
	}
}

// fourCylinders is the ripple of a small engine.
var fourCylinders = Ripple{Share: 0.35, AtRPM: 200, Cylinders: 4}

// starter adds what a starter motor leaves on the wires until it lets go.
func starter(s *Sensor, share, untilS float64) {
	s.Noise = append(s.Noise, Noise{SigmaV: 0.030 * share, RateHz: 6000, Window: Window{UntilS: untilS}})
	s.Tones = append(s.Tones, Tone{AmplitudeV: 0.050 * share, PerTurn: 240, Window: Window{UntilS: untilS}})
}

// pull is a sweep from idle to the limit, held there for a moment.
func pull(name string, sensors ...Sensor) Rig {
	return Rig{
		Name: name, Seed: 11, SampleHz: 100e3, LengthS: 3, StartDeg: 77,
		Speed:  Profile{{0, 900}, {0.2, 900}, {2.8, 7000}},
		Ripple: fourCylinders, Sensors: sensors,
	}
}

// cranking is the starter turning the engine, which does not fire; the starter
// already turns when the record begins.
func cranking(name string, sensors ...Sensor) Rig {
	for i := range sensors {
		starter(&sensors[i], 1, 0)
	}
	return Rig{
		Name: name, Seed: 12, SampleHz: 50e3, LengthS: 4, StartDeg: 200,
		Speed: Profile{{0, 205}, {4, 195}}, Ripple: fourCylinders, Sensors: sensors,
	}
}

// steady holds one speed.
func steady(name string, rpm, seconds float64, sensors ...Sensor) Rig {
	return Rig{
		Name: name, Seed: 13 + uint64(rpm), SampleHz: 100e3, LengthS: seconds, StartDeg: 31,
		Speed: Steady(rpm), Ripple: fourCylinders, Sensors: sensors,
	}
}

// soundTable lies well inside the window of crankSensor.
var soundTable = Table{captures.Crank, []Row{
	{0, 0.25}, {200, 0.25}, {500, 0.6}, {1000, 1.2}, {2000, 2.4}, {3500, 3.8}, {5000, 4.8}, {7000, 5.8},
}}

var usual = Setup{CrankWheel: "36-1", CrankingRPM: 200, LimitRPM: 7000}

func healthy() []Scenario {
	sound := func(wheel string) Sensor {
		s := crankSensor(wheel)
		s.Sparks = []Spark{ignition(0.9)}
		return s
	}
	sixty := usual
	sixty.CrankWheel = "60-2"
	return []Scenario{
		{
			Name: "healthy-sweep", Text: "One pull from idle to the limit, 36-1 wheel, nothing wrong.",
			Captures: []Rig{pull("pull", sound("36-1"))}, Setup: usual, Tables: []Table{soundTable},
		},
		{
			Name: "healthy-sweep-60-2", Text: "One pull from idle to the limit, 60-2 wheel, nothing wrong.",
			Captures: []Rig{pull("pull", sound("60-2"))}, Setup: sixty, Tables: []Table{soundTable},
		},
		{
			Name: "healthy-cranking", Text: "Four seconds of cranking with ignition and injection off, then nothing else.",
			Captures: []Rig{cranking("cranking", crankSensor("36-1"))}, Setup: usual, Tables: []Table{soundTable},
		},
		{
			Name: "healthy-start", Text: "Cranking, then the engine catches, flares and idles.",
			Captures: []Rig{startRig(sound("36-1"))}, Setup: usual, Tables: []Table{soundTable},
		},
		{
			Name: "healthy-steady", Text: "Cranking and five steady speeds, a capture each.",
			Captures: []Rig{
				cranking("cranking", crankSensor("36-1")),
				steady("at-900", 900, 1.5, sound("36-1")),
				steady("at-2000", 2000, 1, sound("36-1")),
				steady("at-3500", 3500, 0.8, sound("36-1")),
				steady("at-5000", 5000, 0.6, sound("36-1")),
				steady("at-7000", 7000, 0.6, sound("36-1")),
			},
			Setup: usual, Tables: []Table{soundTable},
		},
		{
			Name: "uneven-gaps", Text: "One pull with a wheel whose owner only knows that teeth are missing in three places.",
			Captures: []Rig{pull("pull", unevenSensor())},
			Setup:    Setup{CrankingRPM: 200, LimitRPM: 7000}, Tables: []Table{soundTable},
		},
		{
			Name: "crank-and-cam", Text: "Crank wheel with three gaps and a cam wheel with three uneven teeth, recorded together in one pull.",
			Captures: []Rig{twoChannels(0)},
			Setup:    Setup{CrankWheel: "36-2-2-2", CamWheel: "@60,240,480", CrankingRPM: 200, LimitRPM: 7000},
			Tables:   []Table{soundTable, soundCamTable},
		},
	}
}

// soundCamTable lies inside the window of camSensor.
var soundCamTable = Table{captures.Cam, []Row{
	{0, 0.15}, {200, 0.15}, {1000, 0.7}, {3000, 1.5}, {5000, 1.9}, {7000, 2.2},
}}

// startRig cranks for a second and starts.
func startRig(s Sensor) Rig {
	starter(&s, 1, 1.3)
	return Rig{
		Name: "start", Seed: 14, SampleHz: 100e3, LengthS: 4, StartDeg: 500,
		Speed: CrankAndStart(200, 1.2, 900), Ripple: fourCylinders, Sensors: []Sensor{s},
	}
}

// twoChannels is a pull on both sensors; the crank's wires couple into the
// cam's by the given time.
func twoChannels(crossS float64) Rig {
	crank, cam := crankSensor("36-2-2-2"), camSensor()
	crank.Sparks, cam.Sparks = []Spark{ignition(0.9)}, []Spark{ignition(0.6)}
	cam.CrossS = crossS
	return pull("pull", crank, cam)
}
