// Package pulses has what is measured of each pulse of a wave.
package pulses

// Mark is a pulse measured.
type Mark struct {
	At      float64 // position of the fall through the rest level
	Balance float64 // position where the pulse's two halves balance
	Width   float64 // half its length, as followed from pulse to pulse, samples
	Own     float64 // the same of this one by itself
	Flux    float64 // volts times samples, as the width followed shows it
	Swing   float64 // the same, as its own width does where that is much more: at any speed alike
	Step    float64 // flux lost for good: in the space behind less than in the one before; NaN where not measured
	RestV   float64
	Top     float64 // position of the peak
	PeakV   float64 // from the rest level; NaN where it cannot be told
	Curve   PeakCurve
	TroughV float64 // depth of the half-wave behind, roughly; 0 where not measured
	Clipped bool
	Clean   bool    // hardly any noise at the fall
	Noise   float64 // there, as a share of the amplitude; 1 where too few points tell
	Marred  bool    // a spark or the like lies over its peak
	FarV    float64 // how far any sample since the last mark is from rest
	AmidV   float64 // the same amid a long interval since the last mark; 0 of a short one
	Struck  bool    // something struck the wave since the last mark
	IsNew   bool    // the wave was found anew
}

// Lobe is the height of the half-wave before the fall, Trough the depth of the
// one behind it.
func (m *Mark) Lobe() float64 {
	if m.PeakV == m.PeakV {
		return m.PeakV
	}
	return m.Flux / (1.4 * m.Own)
}

func (m *Mark) Trough() float64 {
	if m.TroughV > 0 {
		return m.TroughV
	}
	return m.Lobe()
}
