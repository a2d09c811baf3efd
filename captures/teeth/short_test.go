package teeth

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

// unevenly are the places of a wheel's teeth with gaps of two spread unevenly.
func unevenly() []float64 {
	empty := []int{14, 15, 17, 18, 34, 35}
	var places []float64
	for p := range 36 {
		if !slices.Contains(empty, p) {
			places = append(places, float64(p)/36)
		}
	}
	return places
}

// TestShortTooth: about a tooth that is short the wave of wide pulses swings farther,
// as it would if something struck it there in every turn. The tooth is no less short
// for that, and its neighbours are as high as they are.
func TestShortTooth(t *testing.T) {
	const hz, rpm, shortBy = 50e3, 2000, 0.3
	for name, places := range map[string][]float64{"36-1": gapped(36, 1), "60-2": gapped(60, 2), "36-2-2-2": unevenly()} {
		pitch := places[1] - places[0]
		b := bumps{places: places, sigma: 0.33 * pitch, rpm: rpm}
		short := 6
		lack := bumps{places: places[short : short+1], sigma: b.sigma, rpm: rpm}
		volts := func(turns float64) float64 { return b.volts(turns) - shortBy*lack.volts(turns) }
		v := make([]float64, 2*hz)
		for i := range v {
			v[i] = volts(float64(i) / hz * rpm / 60)
		}
		heights := make([]float64, len(places)) // before each tooth
		for j, p := range places {
			for x := p - 0.7*pitch; x < p; x += 1e-5 {
				heights[j] = max(heights[j], volts(x))
			}
		}
		m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, name)})
		if err != nil {
			t.Fatal(err)
		}
		if len(m.Readings) != 1 || !has(m, "short-tooth") {
			t.Errorf("%s: readings %v, findings %v", name, m.Readings, m.Findings)
			continue
		}
		near(t, name+": weakest", m.Readings[0].WeakestV.Value, slices.Min(heights), 0.01)
		first := slices.Index(heights, slices.Min(heights)) // numbers may count from another gap
		low := slices.Index(m.Weak, slices.Min(m.Weak))
		for d := -2; d <= 2; d++ {
			near(t, fmt.Sprintf("%s: height %+d teeth on", name, d), m.Weak[low+d]/m.Weak[low+3], heights[first+d]/heights[first+3], 0.01)
		}
	}
}

// TestDented: a spark that takes from the top of a tooth in every turn does not make the
// tooth short, nor does one that swings from behind a tooth to the next one's top; but a worn flank does, which lets the flux rise more slowly and as far; and
// a short tooth stays short where a spark takes from the wave behind it, a little or as
// much as the tooth lacks.
func TestDented(t *testing.T) {
	const hz, rpm, worn = 100e3, 3000, 1.3
	b := bumps{places: gapped(36, 1), sigma: 0.25 / 36, rpm: rpm}
	_, peakV := b.truth(5)
	place := b.places[12]
	dentOf := func(width, turns, at float64) float64 { // width and place in pitches
		u := (turns - place - at/36) / (width / 36)
		return -0.4 * peakV * math.Exp(-u*u/2)
	}
	dent := func(turns, at float64) float64 { return dentOf(0.08, turns, at) }
	bump := bumps{places: []float64{place}, sigma: b.sigma, rpm: rpm}
	for name, c := range map[string]struct {
		add       func(turns float64) float64
		low, high float64 // weakest over the peak
	}{
		"spark":                          {func(turns float64) float64 { return dent(turns, -0.25) }, 0.98, 1},
		"broad spark":                    {func(turns float64) float64 { return dentOf(0.16, turns, -0.1) }, 0.98, 1},
		"spark from tooth to tooth":      {func(turns float64) float64 { return dent(turns, 0.75) - 3*dent(turns, 0.25) }, 0.98, 1},
		"short, spark behind":            {func(turns float64) float64 { return dent(turns, 0.25) - 0.45*bump.volts(turns) }, 0.5, 0.6},
		"short, as large a spark behind": {func(turns float64) float64 { return 2.1*dent(turns, 0.5) - 0.3*bump.volts(turns) }, 0.65, 0.75},
		"worn": {func(turns float64) float64 {
			if turns > place {
				return 0
			}
			return bump.volts(place+(turns-place)/worn)/worn - bump.volts(turns)
		}, 0.65, 0.8},
	} {
		v := b.samples(hz, 2, 0, 0.05*peakV)
		for i := range v {
			turns := float64(i) / hz * rpm / 60
			v[i] += c.add(turns - math.Floor(turns))
		}
		m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, "36-1")})
		if err != nil {
			t.Fatal(err)
		}
		if len(m.Readings) != 1 {
			t.Errorf("%s: readings %v", name, m.Readings)
			continue
		}
		if share := m.Readings[0].WeakestV.Value / m.Readings[0].PeakV.Value; share < c.low || share > c.high {
			t.Errorf("%s: weakest tooth %.3f of the peak, want %.3g to %.3g", name, share, c.low, c.high)
		}
	}
}

// TestEndBesideGap: behind a slow coil a gap moves the falls beside it, and the speed from
// tooth to tooth seems higher there. At the end of a capture such teeth are no reading at
// a speed that the engine never had.
func TestEndBesideGap(t *testing.T) {
	const hz, top, cornerHz = 100e3, 6500.0, 1800
	b := bumps{places: unevenly(), sigma: 0.33 / 36, rpm: 1000}
	for some := range 18 {
		seconds := 2.3 + float64(some)*2/36*60/top
		v := b.drive(hz, seconds, 0.001, func(s, _ float64) float64 { return min(1000+3000*s, top) })
		volts := 0.0
		for i := range v {
			volts += (v[i] - volts) * (1 - math.Exp(-2*math.Pi*cornerHz/hz))
			v[i] = volts
		}
		m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, "36-2-2-2")})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range m.Readings {
			if r.RPM > 1.003*top {
				t.Errorf("%.3f s: a reading at %.0f rpm of %.0f teeth", seconds, r.RPM, r.TeethMeasured.Value)
			}
		}
	}
}
