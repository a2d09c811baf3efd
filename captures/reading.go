package captures

import "math"

// Sensor names. A reading without one speaks of the crank.
const (
	Crank = "crank"
	Cam   = "cam"
)

// Quantity is what was read off for the peak: the peak itself, from which the
// others are converted on reading.
type Quantity int

const (
	Peak       Quantity = iota // from the rest level to the top of the tooth
	PeakToPeak                 // halved to give the peak
	RMS                        // times √2 to give the peak, exact for a sine only
)

func (q Quantity) String() string {
	return [...]string{"peak", "peak-to-peak", "rms"}[q]
}

// ToPeak returns the factor that turns the quantity into a peak.
func (q Quantity) ToPeak() float64 {
	return [...]float64{1, 0.5, math.Sqrt2}[q]
}

// Reading is what one engine speed showed. Voltages are volts from the rest
// level on the arming side, at the sensor's terminals after the probe factor is
// undone; all are finite and not negative. PeakV is unknown in a reading of
// noise alone.
type Reading struct {
	Pos    Pos
	Sensor string // Crank or Cam
	RPM    float64

	// PeakV is the mean tooth peak, without the first tooth after each gap.
	PeakV Maybe
	// ReadAs is the quantity that PeakV was converted from.
	ReadAs Quantity
	// WeakestV is the lowest tooth peak, any tooth. While cranking it holds
	// the speed ripple.
	WeakestV Maybe
	// PeakSDV is the standard deviation of one tooth's peak about its mean
	// over the revolutions.
	PeakSDV Maybe

	// NoiseV is the largest excursion seen that is not a tooth, apart from
	// what SpikeV and HumpV state.
	NoiseV Maybe
	// NoiseRMSV is the standard deviation of the noise, tones and spikes
	// taken out.
	NoiseRMSV Maybe
	// NoiseRateHz is the number of upward zero crossings per second of that
	// noise.
	NoiseRateHz Maybe
	// NoiseRecordS is how long the noise was watched, in seconds.
	NoiseRecordS Maybe
	// ToneV is the summed amplitude of steady tones in the noise.
	ToneV Maybe
	// SpikeV is the largest short excursion (ignition, cross-talk).
	SpikeV Maybe
	// HumpV is the largest excursion inside a gap.
	HumpV Maybe

	TeethMeasured Maybe // number of tooth peaks behind PeakV
	Ripple        Maybe // speed ripple within a revolution: (mean − slowest) ÷ mean, 0…1
	// PeakRPM is the mean of the speeds at which the teeth behind PeakV passed. RPM is
	// the mean over time, which where the speed ripples is lower: the slow instants
	// last longer.
	PeakRPM Maybe
	Clipped bool // the instrument ran out of range: PeakV is a lower limit

	// Wheel is the wheel a wave showed, as Wheel.String writes it; "" where
	// the reading does not come from a wave or the wave did not tell.
	Wheel     string
	Condition string // what was different: "unplugged", "connected"
	Note      string
}

// HasNoise tells whether the reading says anything of the noise itself.
func (r Reading) HasNoise() bool {
	return r.NoiseV.Known || r.NoiseRMSV.Known || r.ToneV.Known || r.SpikeV.Known
}
