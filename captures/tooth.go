package captures

// Tooth is one tooth of a wave, found by the phase of the wheel and not by a
// threshold.
type Tooth struct {
	// TimeS is the file's own time, in seconds, of the falling crossing of
	// the rest level that follows the tooth's peak.
	TimeS float64
	// Number counts the teeth present from 1, the first after the longest gap
	// being 1; 0 where the wheel is not known.
	Number int
	// PeakV is the tooth's peak from the rest level, in volts on the arming
	// side; NaN where samples are too few or clipped.
	PeakV float64
	// RPM is the engine speed at the tooth.
	RPM float64
}
