package report

// cautionGroup is what to mind at one time.
type cautionGroup struct {
	Title string
	Lines []string
}

// cautions stand on every page in full.
var cautions = []cautionGroup{
	{"Before cranking for a reading or a capture", []string{
		"Disable injection and ignition, not only one of them.",
		"Keep clear of belts, fans and the flywheel.",
		"Neutral, brake on, an extinguisher within reach.",
	}},
	{"The instrument", []string{
		"A reluctor can give more than 100 V at speed: use a ×10 probe and mind the instrument's limit. Never connect it straight to a sound card.",
		"An oscilloscope that is earthed through the mains can short one leg of the sensor.",
	}},
	{"After any change of threshold or polarity", []string{
		"Check the base timing before load.",
		"The table is a starting point computed from what was measured, not verified on the engine.",
		"Follow the makers' documents, local rules and a licensed practitioner where they apply.",
	}},
}
