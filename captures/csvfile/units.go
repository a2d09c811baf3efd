package csvfile

import (
	"math"
	"strconv"
	"strings"
)

// dimension is what a unit measures.
type dimension int

const (
	noDimension dimension = iota
	voltage
	duration
	frequency
)

// unit is a power of ten of volts, seconds or hertz.
type unit struct {
	of  dimension
	exp int
}

var unitNames = map[string]unit{
	"v": {voltage, 0}, "volt": {voltage, 0}, "volts": {voltage, 0},
	"mv": {voltage, -3}, "millivolt": {voltage, -3}, "millivolts": {voltage, -3},
	"uv": {voltage, -6}, "microvolt": {voltage, -6}, "microvolts": {voltage, -6},
	"nv": {voltage, -9}, "kv": {voltage, 3}, "kilovolt": {voltage, 3}, "kilovolts": {voltage, 3},

	"s": {duration, 0}, "sec": {duration, 0}, "secs": {duration, 0}, "sek": {duration, 0},
	"second": {duration, 0}, "seconds": {duration, 0},
	"ms": {duration, -3}, "msec": {duration, -3}, "millisecond": {duration, -3}, "milliseconds": {duration, -3},
	"us": {duration, -6}, "usec": {duration, -6}, "microsecond": {duration, -6}, "microseconds": {duration, -6},
	"ns": {duration, -9}, "nsec": {duration, -9}, "nanosecond": {duration, -9}, "nanoseconds": {duration, -9},
	"ps": {duration, -12},

	"hz": {frequency, 0}, "khz": {frequency, 3}, "mhz": {frequency, 6}, "ghz": {frequency, 9},
	"s/s": {frequency, 0}, "ks/s": {frequency, 3}, "ms/s": {frequency, 6}, "gs/s": {frequency, 9},
	"sa/s": {frequency, 0}, "ksa/s": {frequency, 3}, "msa/s": {frequency, 6}, "gsa/s": {frequency, 9},
	"sps": {frequency, 0}, "ksps": {frequency, 3}, "msps": {frequency, 6}, "gsps": {frequency, 9},
}

// unitOf reads the name of a unit, brackets or quotes around it or not.
func unitOf(name string) (unit, bool) {
	const longest = len("milliseconds") + 4
	if len(name) > longest {
		return unit{}, false
	}
	name = strings.ToLower(strings.Trim(name, " \t\"()[]{}"))
	name = strings.ReplaceAll(strings.ReplaceAll(name, "µ", "u"), "μ", "u")
	u, known := unitNames[name]
	return u, known
}

// dividedName takes the unit off a column's name: "Time [ms]", "A (mV)",
// "t / s", "volts_mv".
func dividedName(name string) (bare, unitName string) {
	name = strings.TrimSpace(name)
	for _, pair := range []string{"[]", "()", "{}"} {
		at := strings.LastIndexByte(name, pair[0])
		if at > 0 && strings.HasSuffix(name, pair[1:]) {
			return strings.TrimSpace(name[:at]), strings.TrimSpace(name[at+1 : len(name)-1])
		}
	}
	if at := strings.LastIndexAny(name, "/_ ,"); at > 0 {
		if _, known := unitOf(name[at+1:]); known {
			return strings.TrimRight(name[:at], "/_ ,"), strings.TrimSpace(name[at+1:])
		}
	}
	return name, ""
}

// perSecond writes a sample interval for people: "4 µs (250 kHz)".
func perSecond(seconds float64) string {
	return engineering(seconds) + "s (" + engineering(1/seconds) + "Hz)"
}

// engineering writes a number with a prefix for its unit.
func engineering(v float64) string {
	prefixes := []string{"p", "n", "µ", "m", "", "k", "M", "G"}
	at := min(max(int(math.Floor(math.Log10(math.Abs(v))/3+1e-9))+4, 0), len(prefixes)-1)
	return strconv.FormatFloat(v/math.Pow(1000, float64(at-4)), 'g', 6, 64) + " " + prefixes[at]
}
