package teeth

import (
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"armcurve/captures"
	"armcurve/captures/teeth/wheels"
)

// long asks for many more trials: go test -run TestRigs -long.
var long = flag.Bool("long", false, "more trials, which take minutes")

// engine is a random rig of an own making: bumps of flux on a wheel, turned by
// an engine, seen by an instrument. It shares nothing with package simulate.
type engine struct {
	wheel    string
	places   []float64 // in turns of the wheel
	gains    []float64
	sigma    float64 // of a bump, turns
	lorentz  bool    // wider feet
	onCam    bool
	rpm, end float64 // at either end of the record
	ripple   float64
	cylinder float64
	phase    float64
	hz       float64
	seconds  float64
	cornerHz float64 // of the coil
	noise    float64 // of the mean peak
	slow     float64 // of the noise: share kept from sample to sample
	spark    float64 // of the mean peak
	offset   float64
	clip     float64 // of the mean peak
	acS      float64
	step     float64
	reversed bool
	negative bool
	stated   bool
	dropout  [2]float64 // from and until, seconds
	seed     uint64
}

func (e *engine) String() string {
	return fmt.Sprintf("%s seed %d: %.0f to %.0f rpm, ripple %.2f × %g, %.0f Hz (%.1f per pitch), %.1f turns, noise %.2f, spark %.1f, clip %.2f, ac %.3f s, width %.2f, lorentz %t, reversed %t, negative %t, stated %t, dropout %.3f-%.3f",
		e.wheel, e.seed, e.rpm, e.end, e.ripple, e.cylinder, e.hz, e.perPitch(), (e.rpm+e.end)/120*e.seconds*e.perCrank(), e.noise, e.spark, e.clip, e.acS, e.sigma*e.pitches(), e.lorentz, e.reversed, e.negative, e.stated, e.dropout[0], e.dropout[1])
}

func (e *engine) perCrank() float64 {
	if e.onCam {
		return 0.5
	}
	return 1
}

// slowest and fastest bound the speed of a whole turn: few cylinders make turns
// unlike.
func (e *engine) slowest() float64 { return min(e.rpm, e.end) * (0.85 - e.turnRipple()) }
func (e *engine) fastest() float64 { return max(e.rpm, e.end) * (1.15 + e.turnRipple()) }

func (e *engine) turnRipple() float64 {
	return e.ripple / e.cylinder
}

func (e *engine) pitches() float64 {
	w, err := captures.ParseWheel(e.wheel)
	if err != nil || w.Pitches == 0 {
		return 12
	}
	return float64(max(w.Pitches, 12))
}

func (e *engine) perPitch() float64 {
	return 120 * e.hz / (e.rpm + e.end) / e.pitches() / e.perCrank()
}

// place sets the teeth: uneven gaps for a wheel that has "uneven" in its name.
func (e *engine) place(random *rand.Rand) {
	text, uneven := strings.CutSuffix(e.wheel, " uneven")
	w, err := captures.ParseWheel(text)
	if err != nil {
		panic(err)
	}
	positions := w.Positions
	if uneven { // gaps of two after teeth 12 and 14 of what is left, and at the end
		positions = nil
		for p := range w.Pitches {
			if !slices.Contains([]int{14, 15, 17, 18, 34, 35}, p) {
				positions = append(positions, p)
			}
		}
		e.wheel = text
	}
	runOut, at := 0.0, 2*math.Pi*random.Float64()
	if random.Float64() < 0.6 {
		runOut = 0.2 * random.Float64() * random.Float64()
	}
	add := func(turns float64) {
		e.places = append(e.places, turns)
		e.gains = append(e.gains, (1+runOut*math.Cos(2*math.Pi*turns+at))*(1+0.01*random.NormFloat64()))
	}
	for _, p := range positions {
		add(float64(p) / float64(w.Pitches))
	}
	for _, a := range w.AnglesDeg {
		add(a / 360 * e.perCrank())
	}
	if w.Pitches > 1 {
		e.sigma /= float64(w.Pitches)
	} else {
		e.sigma /= 12
	}
}

// slope is the change of flux over the wheel's turn.
func (e *engine) slope(turns float64) float64 {
	sum := 0.0
	for i, p := range e.places {
		d := turns - p
		d -= math.Round(d)
		u := d / e.sigma
		if e.lorentz {
			q := 1 + u*u
			sum -= 1.7 * e.gains[i] * u / (q * q)
		} else if math.Abs(u) < 7 {
			sum -= e.gains[i] * u * math.Exp(-u*u/2)
		}
	}
	return sum
}

func (e *engine) samples() []float64 {
	random := rand.New(rand.NewPCG(e.seed, 99))
	const cells = 1 << 14
	table := make([]float64, cells+1)
	highest := 0.0
	for i := range table {
		table[i] = e.slope(float64(i) / cells)
		highest = max(highest, table[i])
	}
	meanRPM := (e.rpm + e.end) / 2
	peak := 0.61 * meanRPM / 1000
	v := make([]float64, int(e.hz*e.seconds))
	turns := e.phase // of the crank
	lag, slow, low, ring := 0.0, 0.0, 0.0, 0.0
	lagShare := 1.0
	if e.cornerHz > 0 {
		lagShare = -math.Expm1(-2 * math.Pi * e.cornerHz / e.hz)
	}
	sparkAt := 0.13
	for i := range v {
		at := float64(i) / e.hz
		rpm := e.rpm + (e.end-e.rpm)*at/e.seconds
		speed := rpm * (1 - e.ripple*math.Cos(2*math.Pi*e.cylinder*turns/2))
		x := turns * e.perCrank()
		x = (x - math.Floor(x)) * cells
		k := int(x)
		emf := (table[k] + (x-float64(k))*(table[k+1]-table[k])) * speed / 1000
		lag += lagShare * (emf - lag)
		u := lag
		if at >= e.dropout[0] && at < e.dropout[1] {
			u = 0
		}
		slow = e.slow*slow + math.Sqrt(1-e.slow*e.slow)*random.NormFloat64()
		u += e.noise * peak * slow
		if e.spark > 0 {
			if turns > sparkAt {
				ring, sparkAt = e.spark*peak, sparkAt+0.5
			}
			u += ring * math.Cos(2*math.Pi*9000*at)
			ring *= math.Exp(-1 / (e.hz * 8e-5))
		}
		if e.reversed != e.negative {
			u = -u
		}
		u += e.offset
		if e.acS > 0 {
			low += (u - low) / (e.hz * e.acS)
			u -= low
		}
		if e.clip > 0 {
			u = max(-e.clip*peak, min(e.clip*peak, u))
		}
		if e.step > 0 {
			u = math.Round(u/e.step) * e.step
		}
		v[i] = u
		turns += speed / 60 / e.hz
	}
	return v
}

var rigWheels = []string{"36-1", "60-2", "12-1", "24", "24-1", "36-2", "36-2-2-2 uneven", "36-2-2-2", "1", "4-1", "12-2", "30-2", "@0,180,420"}

// randomEngine draws what is usual and what is not.
func randomEngine(seed uint64) *engine {
	random := rand.New(rand.NewPCG(seed, 1))
	sometimes := func(p, low, high float64) float64 {
		x := low + (high-low)*random.Float64()
		if random.Float64() < p {
			return x
		}
		return 0
	}
	e := &engine{seed: seed, wheel: rigWheels[random.IntN(len(rigWheels))], phase: random.Float64()}
	e.onCam = e.wheel == "1" || strings.HasPrefix(e.wheel, "@") || e.wheel == "4-1" && random.Float64() < 0.5
	e.sigma = 0.17 + 0.16*random.Float64()
	e.lorentz = random.Float64() < 0.3
	e.place(random)
	e.rpm = 150 * math.Pow(50, random.Float64())
	e.end = e.rpm
	if random.Float64() < 0.3 {
		e.end = min(8000, e.rpm*(1+2*random.Float64()))
	}
	e.cylinder = float64(1 + random.IntN(6))
	if e.rpm < 400 {
		e.ripple = 0.5 * random.Float64()
	} else {
		e.ripple = 0.5 * math.Pow(250/e.rpm, 1.5) * random.Float64()
	}
	perPitch := 6 * math.Pow(100.0/6, random.Float64())
	e.hz = perPitch * e.pitches() * e.perCrank() * (e.rpm + e.end) / 120
	turns := 1.2 * math.Pow(20, random.Float64())
	e.seconds = turns * 120 / (e.rpm + e.end) / e.perCrank()
	e.cornerHz = sometimes(0.5, 0.3, 5) * max(e.rpm, e.end) / 60 * e.perCrank() * e.pitches()
	e.noise = sometimes(0.7, 0, 0.3)
	e.slow = sometimes(0.5, 0, 0.9)
	e.spark = sometimes(0.2, 0, 3)
	e.offset = sometimes(0.3, -3, 3)
	e.clip = sometimes(0.15, 0.3, 1)
	e.acS = sometimes(0.15, 0.003, 0.1)
	e.step = sometimes(0.4, 0.001, 0.05)
	e.reversed = random.Float64() < 0.3
	e.negative = random.Float64() < 0.3
	e.stated = random.Float64() < 0.4
	if random.Float64() < 0.15 {
		from := e.seconds * random.Float64()
		e.dropout = [2]float64{from, from + e.seconds*0.3*random.Float64()*random.Float64()}
	}
	return e
}

func (e *engine) measure(t testing.TB) Measurement {
	o := Options{OnCam: e.onCam, Negative: e.negative, KeepTeeth: true}
	if e.stated {
		o.Wheel = wheel(t, e.wheel)
	}
	m, err := Measure(wave(e.samples(), 1/e.hz, 8192), o)
	if errors.Is(err, ErrNoWave) { // coarse steps left nothing of it
		return Measurement{Signal: Unknown, Polarity: Unknown}
	}
	if err != nil {
		t.Fatal(err)
	}
	measured := 0.0
	for _, r := range m.Readings {
		measured += r.TeethMeasured.Value
	}
	// Those of the first turn and of the last may count in two.
	if measured > float64(m.Teeth+2*int64(m.Wheel.TeethPresent())) {
		t.Errorf("readings of %g teeth, where %d were seen", measured, m.Teeth)
	}
	return m
}

// answers counts verdicts by what is true.
type answers map[string]*[4]int

const (
	right = iota
	cannotTell
	wrong
	readingsRight
)

func (a answers) count(truth string, kind int) {
	if a[truth] == nil {
		a[truth] = new([4]int)
	}
	a[truth][kind]++
}

func (a answers) log(t testing.TB, title string) {
	var names []string
	for name := range a {
		names = append(names, name)
	}
	slices.Sort(names)
	t.Logf("%-28s right  cannot tell  wrong", title)
	for _, name := range names {
		n := a[name]
		t.Logf("%-28s %5d  %11d  %5d", name, n[right], n[cannotTell], n[wrong])
	}
}

// sameAsTrue compares a wheel found with the true one; angles found from times
// are as even as the engine's turning.
func sameAsTrue(found captures.Wheel, truth string, withinDeg float64) bool {
	w, err := captures.ParseWheel(truth)
	if err != nil {
		return false
	}
	if w.Pitches > 0 {
		return wheels.SameWheel(found, w)
	}
	if len(found.AnglesDeg) != len(w.AnglesDeg) {
		return false
	}
	for i, a := range w.AnglesDeg {
		if math.Abs(a-found.AnglesDeg[i]) > withinDeg {
			return false
		}
	}
	return true
}

// TestRigs: whatever the rig, no confident answer is wrong.
func TestRigs(t *testing.T) {
	trials := 150
	if *long {
		trials = 4000
	}
	wheels, polarities, signals, speeds := answers{}, answers{}, answers{}, answers{}
	bad := 0
	for seed := range uint64(trials) {
		e := randomEngine(seed + 1)
		m := e.measure(t)
		var faults []string
		judge := func(a answers, truth string, isRight, isOpen bool, fault string) {
			switch {
			case isRight:
				a.count(truth, right)
			case isOpen:
				a.count(truth, cannotTell)
			default:
				a.count(truth, wrong)
				faults = append(faults, fault)
			}
		}
		name := e.wheel
		if e.stated {
			name += " stated"
		}
		judge(wheels, name, m.Wheel.Known() && sameAsTrue(m.Wheel, e.wheel, 10+120*e.turnRipple()), !m.Wheel.Known(), "wheel "+m.Wheel.String())
		truth := Normal
		if e.reversed {
			truth = Reversed
		}
		if m.Wheel.Known() && !e.stated && m.Polarity == Unknown && strings.Contains(e.wheel, "-") {
			wheels.count("unstated, polarity unknown", map[bool]int{true: right, false: wrong}[sameAsTrue(m.Wheel, e.wheel, 10)])
		}
		judge(polarities, truth, m.Polarity == truth, m.Polarity == Unknown, "polarity "+m.Polarity+": "+m.PolarityWhy)
		judge(signals, "reluctor", m.Signal == Reluctor, m.Signal == Unknown, "signal "+m.Signal+": "+m.SignalWhy)
		if has(m, "wheel-differs") && e.stated {
			faults = append(faults, "stated wheel denied: "+m.WheelWhy)
		}
		if len(m.Readings) > 0 {
			low, high := m.Readings[0].RPM, m.Readings[len(m.Readings)-1].RPM
			judge(speeds, "rpm", low > e.slowest() && high < e.fastest() && !(e.reversed && strings.Contains(e.wheel, "-") && m.Polarity != Unknown), false, fmt.Sprintf("readings from %.0f to %.0f rpm", low, high))
		}
		if faults != nil {
			bad++
			if bad < 60 {
				t.Logf("%s: %s", e, strings.Join(faults, "; "))
			}
		}
	}
	wheels.log(t, "wheel")
	polarities.log(t, "polarity")
	signals.log(t, "signal")
	speeds.log(t, "readings")
	// Of the long run's rigs a few are worse than any test bench makes them.
	if 500*bad > trials {
		t.Errorf("%d of %d wrong", bad, trials)
	}
}
