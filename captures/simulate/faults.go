package simulate

import "armcurve/captures"

func faulty() []Scenario {
	return append(append(thresholdFaults(), mechanicalFaults()...), wiringFaults()...)
}

// fault is a scenario of one pull on the usual wheel.
func fault(name, cause, text string, s Sensor, rows ...Row) Scenario {
	return Scenario{
		Name: name, Text: text, Cause: cause, Sensor: captures.Crank, Setup: usual,
		Captures: []Rig{pull("pull", s)}, Tables: []Table{{captures.Crank, rows}},
	}
}

// thresholdFaults have a sound sensor and a table that does not fit it, or noise
// that no table should have to bear.
func thresholdFaults() []Scenario {
	loaded := crankSensor("36-1")
	loaded.Coil.LoadOhm = 3300

	sparking := crankSensor("36-1")
	sparking.Sparks = []Spark{ignition(11)}
	sparking.Sparks[0].AnglesDeg = []float64{171, 351, 531, 711}

	hissing := crankSensor("36-1")
	hissing.Noise = []Noise{{SigmaV: 0.012, SigmaPerRPMV: 80e-6, RateHz: 12e3}}

	dip := cranking("cranking", crankSensor("36-1"))
	dip.Ripple.Share = 0.55

	rattling := cranking("cranking", crankSensor("36-1"))
	starter(&rattling.Sensors[0], 0.6, 0) // on top of the usual

	hopeless := cranking("cranking", crankSensor("36-1"))
	hopeless.Sensors[0].GapMM = 2.6
	starter(&hopeless.Sensors[0], 3, 0)

	crankingCase := func(name, cause, text string, rig Rig, rows ...Row) Scenario {
		return Scenario{
			Name: name, Text: text, Cause: cause, Sensor: captures.Crank, Setup: usual,
			Captures: []Rig{rig}, Tables: []Table{{captures.Crank, rows}},
		}
	}
	return []Scenario{
		fault("roll-off", "amplitude-below-threshold",
			"Starts and idles, loses position near the limit; the input loads the sensor heavily and the table climbs in a straight line.",
			loaded, Row{0, 0.25}, Row{200, 0.25}, Row{1000, 1.4}, Row{3000, 4.2}, Row{5000, 7.5}, Row{7000, 11}),
		fault("ignition-spikes", "crank-locked-noise",
			"Runs clean to the middle speeds, then position errors that come with the ignition.",
			sparking, soundTable.Rows...),
		fault("low-table", "noise-above-threshold",
			"A table copied from another car and far too low for this wiring.",
			hissing, Row{0, 0.15}, Row{500, 0.25}, Row{7000, 0.5}),
		crankingCase("cranking-dip", "cranking-dip",
			"Takes long to start: a high-compression engine that nearly stops at every compression.",
			dip, Row{0, 0.42}, Row{250, 0.42}, Row{1000, 1.4}, Row{7000, 5.8}),
		crankingCase("starter-noise", "starter-noise",
			"Will not start; the starter's own noise is on the wires.",
			rattling, Row{0, 0.15}, Row{250, 0.15}, Row{1000, 1.2}, Row{7000, 5.8}),
		crankingCase("too-noisy", "noise-above-threshold",
			"Will not start; a wide air gap leaves less signal than there is noise.",
			hopeless, Row{0, 0.1}, Row{250, 0.1}, Row{1000, 0.5}, Row{7000, 2}),
	}
}

// mechanicalFaults are of the wheel.
func mechanicalFaults() []Scenario {
	eccentric := crankSensor("36-1")
	eccentric.GapMM, eccentric.RunOutMM, eccentric.RunOutDeg = 1.3, 0.75, 140

	damaged := crankSensor("36-1")
	damaged.Short = []ShortTooth{{Tooth: 14, MM: 2.2}}

	humped := crankSensor("36-1")
	humped.HumpShare = 0.55

	lobed := crankSensor("60-2")
	lobed.DiameterMM, lobed.GapMM, lobed.LinkageVS = 120, 2, 12e-3
	lobe := fault("gap-lobe", "gap-lobe",
		"Three quarters of the tallest tooth on the screen, the one after the gap, were taken for the threshold.",
		lobed, Row{0, 0.3}, Row{200, 0.3}, Row{800, 2.5}, Row{1500, 7.1}, Row{3000, 13.3}, Row{5000, 19.2}, Row{7000, 22.6})
	lobe.Setup.CrankWheel = "60-2"

	wrong := fault("wrong-wheel", "wheel-differs",
		"A crankshaft from a later model went in; the wheel is stated as 60-2.",
		crankSensor("36-1"), soundTable.Rows...)
	wrong.Setup.CrankWheel = "60-2"

	return []Scenario{
		fault("run-out", "run-out",
			"Misses come in groups once a turn: the wheel was pressed on crooked.",
			eccentric, Row{0, 0.2}, Row{200, 0.2}, Row{1000, 1.6}, Row{3000, 5}, Row{5000, 9.5}, Row{7000, 14}),
		fault("short-tooth", "short-tooth",
			"One miss in every turn above the middle speeds.",
			damaged, Row{0, 0.2}, Row{200, 0.2}, Row{1000, 1}, Row{3000, 4}, Row{7000, 9}),
		fault("gap-hump", "gap-hump",
			"One count too many in every turn; metal was left standing in the gap.",
			humped, Row{0, 0.05}, Row{1000, 0.25}, Row{7000, 0.6}),
		lobe, wrong,
	}
}

// wiringFaults are between the sensor and the file.
func wiringFaults() []Scenario {
	loose := crankSensor("36-1")
	loose.Dropouts = []Window{
		{0.912, 0.919}, {1.340, 1.343}, {1.708, 1.7215}, {1.7302, 1.7334}, {2.205, 2.211}, {2.502, 2.5052}, {2.7, 2.709},
	}

	swapped := crankSensor("36-1")
	swapped.Reversed = true

	slotted := crankSensor("36-1")
	slotted.Slotted = true

	clipped := crankSensor("36-1")
	clipped.Recorder = Recorder{StepV: 0.005, RangeV: 5}

	alternator := crankSensor("36-1")
	alternator.Tones = []Tone{{AmplitudeV: 6, PerTurn: 43.2, GrowsFromRPM: 7000}}

	humming := crankSensor("36-1")
	humming.Tones = []Tone{{AmplitudeV: 1.1, Hz: 5300}}

	injector := crankSensor("36-2")
	injector.Sparks = []Spark{{AnglesDeg: []float64{342, 702}, HeightV: 6, AtRPM: 7000, Power: 1, RingHz: 4500, DecayS: 1.5e-4, Jitter: 0.05}}
	switching := fault("injector", "crank-locked-noise",
		"One count too many in every turn above the middle speeds.", injector,
		Row{0, 0.25}, Row{1000, 1.2}, Row{2500, 2.2}, Row{4000, 2.6}, Row{7000, 3})
	switching.Setup.CrankWheel = "36-2"

	hall := crankSensor("36-1")
	hall.SquareV = 5

	coupled := crankSensor("36-1")
	coupled.Recorder.ACCoupleS, coupled.Recorder.OffsetV = 0.02, 0.3

	coarse := fault("coarse", "coarse-sampling",
		"A logger instead of an oscilloscope: too few samples for the teeth at speed.",
		crankSensor("60-2"), soundTable.Rows...)
	coarse.Setup.CrankWheel = "60-2"
	coarse.Captures[0].SampleHz = 16e3
	coarse.Captures[0].Sensors[0].Noise[0].RateHz = 3000

	cross := Scenario{
		Name: "cross-talk", Cause: "cross-talk", Sensor: captures.Cam,
		Text:     "Crank and cam wires share a loom without a screen; the cam counts too much at speed.",
		Captures: []Rig{twoChannels(9e-6)},
		Setup:    Setup{CrankWheel: "36-2-2-2", CamWheel: "@60,240,480", CrankingRPM: 200, LimitRPM: 7000},
		Tables:   []Table{soundTable, soundCamTable},
	}
	return []Scenario{
		fault("dropout", "dropout", "Misses that come and go with no pattern; a connector is loose.", loose, soundTable.Rows...),
		fault("reversed", "reversed-polarity", "New connector, and now the timing wanders with speed.", swapped, soundTable.Rows...),
		fault("slotted-wheel", "reversed-polarity", "A wheel with slots, wired like one with teeth.", slotted, soundTable.Rows...),
		fault("clipped", "clipped", "Recorded on a ±5 V input without a divider.", clipped,
			Row{0, 0.25}, Row{200, 0.25}, Row{1000, 1.2}, Row{3000, 3.6}, Row{5000, 5.6}, Row{7000, 7}),
		fault("alternator", "speed-locked-noise", "Errors that come with load on the alternator.", alternator,
			Row{0, 0.2}, Row{1000, 1}, Row{7000, 2.8}),
		fault("fixed-tone", "fixed-frequency-noise", "A converter in the car whistles on every wire.", humming,
			Row{0, 0.3}, Row{1000, 0.7}, Row{7000, 1.5}),
		switching,
		fault("square", "not-a-reluctor", "The sensor has three wires.", hall, soundTable.Rows...),
		fault("ac-coupled", "", "The oscilloscope was left on AC.", coupled, soundTable.Rows...),
		coarse, cross,
	}
}
