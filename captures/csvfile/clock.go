package csvfile

import (
	"strconv"
	"strings"
	"time"
)

// readClock reads a time of day, with a date or without, or a time elapsed:
// "2024-05-01T12:00:00.25Z", "1.5.2024 12:00:00,25", "00:00:03.5". It gives
// nanoseconds; with a date since 1970, without one since midnight or the start.
func readClock(text string) (nanoseconds int64, ok bool) {
	date, clock := "", strings.TrimSuffix(text, "Z")
	if at := strings.LastIndexAny(clock, "T "); at >= 0 {
		date, clock = strings.TrimRight(clock[:at], " "), clock[at+1:]
	}
	parts := strings.Split(clock, ":")
	if len(parts) != 3 {
		return 0, false
	}
	hours, okHours := wholeNumber(parts[0], 4)
	minutes, okMinutes := wholeNumber(parts[1], 2)
	seconds, okSeconds := nanosecondsOf(parts[2])
	day, okDay := dayOf(date)
	if !okHours || !okMinutes || !okSeconds || !okDay || minutes > 59 || seconds >= 61e9 {
		return 0, false
	}
	return day + (hours*3600+minutes*60)*1e9 + seconds, true
}

func wholeNumber(text string, longest int) (int64, bool) {
	if text == "" || len(text) > longest || !isDigits(text) {
		return 0, false
	}
	n, err := strconv.ParseInt(text, 10, 64)
	return n, err == nil
}

// nanosecondsOf reads seconds with a fraction behind a point or a comma.
func nanosecondsOf(text string) (int64, bool) {
	whole, fraction, found := strings.Cut(strings.Replace(text, ",", ".", 1), ".")
	seconds, ok := wholeNumber(whole, 2)
	if !ok || found && !isDigits(fraction) {
		return 0, false
	}
	fraction += "000000000"
	n, ok := wholeNumber(fraction[:9], 9)
	return seconds*1e9 + n, ok
}

// dayOf gives the start of the day in nanoseconds since 1970. Days and months
// that could stand in either order are not told apart: only differences count.
func dayOf(date string) (int64, bool) {
	if date == "" {
		return 0, true
	}
	for _, layout := range []string{"2006-1-2", "2006/1/2", "2.1.2006", "2/1/2006", "1/2/2006", "2-1-2006"} {
		if day, err := time.Parse(layout, date); err == nil && day.Year() > 1900 && day.Year() < 2200 {
			return day.UnixNano(), true
		}
	}
	return 0, false
}
