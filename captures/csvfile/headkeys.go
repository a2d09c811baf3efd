package csvfile

import (
	"slices"
	"strings"
)

// The keys of headers, matched loosely: instruments name the same thing in
// many ways and languages.

func hasAny(text string, parts ...string) bool {
	return slices.ContainsFunc(parts, func(part string) bool { return strings.Contains(text, part) })
}

func isOneOf(key string, keys ...string) bool {
	return slices.Contains(keys, strings.ReplaceAll(key, " ", ""))
}

// ofSampling tells a key that speaks of sampling.
func ofSampling(key string) bool {
	return hasAny(key, "sampl", "abtast", "muestr", "échant", "echant", "campion", "amostr")
}

func isIntervalKey(key string) bool {
	return isOneOf(key, "dt", "δt", "deltat", "deltatime", "tinc", "xinc", "xincr", "xincrement", "increment", "inc",
		"timeincrement", "horizontalincrement", "xinterval", "interval", "hinterval", "horizontalinterval", "timeinterval",
		"timestep", "step", "tdelta", "timeresolution") ||
		ofSampling(key) && hasAny(key, "interval", "intervall", "period", "increment", "zeit", "time", "spacing", "step", "dauer")
}

func isRateKey(key string) bool {
	return isOneOf(key, "fs", "sr", "sps") ||
		ofSampling(key) && hasAny(key, "rate", "freq", "tasa", "taux", "fréq", "taxa", "second")
}

func isStartKey(key string) bool {
	return isOneOf(key, "start", "starttime", "timestart", "t0", "x0", "tstart", "xorigin", "xzero", "xstart", "firsttime", "firstpoint")
}

func isAttenuationKey(key string) bool {
	return hasAny(key, "atten", "probe", "tastkopf", "tastteiler", "sonda", "sonde")
}

func isVoltsPerDivisionKey(key string) bool {
	return hasAny(key, "div") && hasAny(key, "volt", "v ", "vertical") ||
		isOneOf(key, "vdiv", "verticalscale", "vscale", "yscale", "scale", "verticalsensitivity")
}

func isVerticalUnitKey(key string) bool {
	return isOneOf(key, "verticalunits", "verticalunit", "yunits", "yunit", "vunit", "vunits")
}

func isHorizontalUnitKey(key string) bool {
	return isOneOf(key, "horizontalunits", "horizontalunit", "xunits", "xunit", "timeunits", "timeunit", "hunit", "hunits")
}

func isCouplingKey(key string) bool {
	return hasAny(key, "coupling", "kopplung", "acoplamiento", "couplage")
}

// isTimeName tells a column's name that means time.
func isTimeName(name string) bool {
	key, _ := headKey(name)
	if isOneOf(key, "t", "x", "xaxis", "seconds", "second", "sec", "secs", "timestamp", "epoch", "elapsed", "datetime", "date") {
		return true
	}
	if rest, found := strings.CutPrefix(key, "t"); found && isDigits(rest) {
		return true
	}
	first, _, _ := strings.Cut(key, " ")
	return slices.ContainsFunc([]string{"time", "zeit", "temps", "tempo", "tiempo", "tijd", "czas", "čas", "aika", "время", "时间", "時間"},
		func(word string) bool { return strings.HasPrefix(first, word) || strings.HasSuffix(key, " "+word) })
}

// isIndexName tells a column's name that means the number of the sample.
func isIndexName(name string) bool {
	key, _ := headKey(name)
	return isOneOf(key, "", "n", "i", "no", "nr", "num", "index", "idx", "sample", "samples", "sampleno", "samplenumber", "samplenr",
		"point", "points", "pointno", "sequence", "seq", "count", "row", "number", "record", "messpunkt", "punkt")
}
