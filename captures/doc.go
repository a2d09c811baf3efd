// Package captures holds what was measured on a reluctor sensor: readings
// (what one speed showed), the wheel they came from, and the waves they were
// taken from. It knows nothing of thresholds; package threshold draws the
// conclusions.
//
// Units are volts, seconds, engine revolutions per minute and crank degrees,
// and stand in the names. Voltages are measured from the rest level, on the
// arming side of the input, and are positive there.
package captures
