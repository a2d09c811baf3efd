package teeth

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"armcurve/captures"
)

// lossy is a random pull of a wheel with a loose contact: holes of all lengths,
// some of them one soon after the other.
type lossy struct {
	name   string
	b      bumps
	stated string
	hz     float64
	v      []float64
	turns  []float64 // at each sample
	lost   float64   // seconds, of the longest hole
}

var lossyWheels = []struct {
	name   string
	places []int
	all    int
}{
	{"36-1", upTo(0, 35), 36},
	{"60-2", upTo(0, 58), 60},
	{"36-2-2-2", append(append(upTo(0, 16), upTo(18, 30)...), 32, 33), 36},
	{"24", upTo(0, 24), 24},
	{"12-1", upTo(0, 11), 12},
	{"32-2", upTo(0, 30), 32},
	{"48", upTo(0, 48), 48},
}

func upTo(from, to int) []int {
	var list []int
	for i := from; i < to; i++ {
		list = append(list, i)
	}
	return list
}

func drawLossy(seed uint64) *lossy {
	random := rand.New(rand.NewPCG(seed, 31))
	between := func(low, high float64) float64 { return low + (high-low)*random.Float64() }
	w := lossyWheels[random.IntN(len(lossyWheels))]
	x := &lossy{name: fmt.Sprintf("%s seed %d", w.name, seed), stated: w.name}
	x.b = bumps{sigma: 0.24 / float64(w.all), rpm: 1000}
	for _, p := range w.places {
		x.b.places = append(x.b.places, (float64(p)+0.5)/float64(w.all))
	}
	low, high, seconds := between(700, 3000), between(3000, 8000), between(1.2, 2.5)
	if random.IntN(3) == 0 {
		low = high
	}
	x.hz = 14 * high / 60 * float64(w.all)
	ripple, noise := between(0, 0.012), between(0, 0.01)
	turns := between(0, 1)
	x.v, x.turns = make([]float64, int(seconds*x.hz)), make([]float64, int(seconds*x.hz))
	for i := range x.v {
		speed := low + (high-low)*float64(i)/float64(len(x.v))
		speed *= 1 + ripple*math.Sin(4*math.Pi*turns)
		x.v[i], x.turns[i] = x.b.volts(turns)*speed/x.b.rpm, turns
		turns += speed / 60 / x.hz
	}
	hole := 0.001 * math.Pow(60, random.Float64()) // seconds
	for at := between(0.3, 0.5) * seconds; at < 0.9*seconds; at += between(0.03, 0.6) {
		for range 1 + random.IntN(3) {
			length := hole * between(0.5, 1.5)
			x.lost = max(x.lost, length)
			clear(x.v[min(len(x.v), int(at*x.hz)):min(len(x.v), int((at+length)*x.hz))])
			at += length + between(0.1, 1.5)*60/high
		}
	}
	for i := range x.v {
		x.v[i] += noise * random.NormFloat64()
	}
	return x
}

// everyTooth follows the teeth that are told of, seen or not.
type everyTooth struct {
	x       *lossy
	pitches float64
	offset  int // of the numbers told from the true ones
	last    int // count of the last
	unseen  int // since the last that was seen
	begun   bool
	even    bool // no gap
	wrong   []string
}

func (e *everyTooth) Wave(int64, []float64) {}

func (e *everyTooth) Tooth(p Passage) {
	e.last++
	if !p.Seen {
		e.unseen++
		return
	}
	at := int(p.At)
	if at < 0 || at+1 >= len(e.x.turns) {
		return
	}
	turns := e.x.turns[at] + (p.At-float64(at))*(e.x.turns[at+1]-e.x.turns[at])
	whole, teeth := math.Floor(turns), len(e.x.b.places)
	nearest, off := 0, 1.0
	for i, place := range e.x.b.places {
		d := turns - whole - place
		if d -= math.Round(d); math.Abs(d) < math.Abs(off) {
			nearest, off = i, d
		}
	}
	count := int(math.Round(turns-off-e.x.b.places[nearest]))*teeth + nearest
	offset := ((p.Number-1-nearest)%teeth + teeth) % teeth
	most := e.unseen / exactTeeth // by which the count may be off
	switch {
	case !e.begun:
		e.begun, e.offset, most = true, offset, math.MaxInt
	case e.even:
		e.offset = offset // its numbers tell nothing
	}
	if d := e.last - count; d > most || -d > most || most == 0 && offset != e.offset || math.Abs(off)*e.pitches > 0.5 {
		e.wrong = append(e.wrong, fmt.Sprintf("at %.4f s tooth %d, %d teeth too many, %.2f pitches off", p.At/e.x.hz, p.Number, d, off*e.pitches))
	}
	e.last, e.unseen = count, 0
}

// exactTeeth is the number of teeth that may be lost in a row and are counted
// exactly; of more teeth one in so many may be wrong.
const exactTeeth = 40

// TestHoles: wherever the wave is lost, and however often, each tooth of the wheel
// passes once, under its number.
func TestHoles(t *testing.T) {
	trials := 40
	if *long {
		trials = 1000
	}
	bad := 0
	for seed := range uint64(trials) {
		x := drawLossy(seed)
		w, err := captures.ParseWheel(x.stated)
		if err != nil {
			t.Fatal(err)
		}
		e := &everyTooth{x: x, pitches: float64(w.Pitches), even: !w.Gapped()}
		o := Options{Watch: e}
		if e.even {
			o.Wheel = w
		}
		m, err := Measure(wave(x.v, 1/x.hz, 8192), o)
		if err != nil {
			t.Fatal(err)
		}
		if len(e.wrong) > 0 || !e.begun {
			bad++
			t.Logf("%s, holes up to %.1f ms, wheel %q: %d wrong, first %v", x.name, 1000*x.lost, m.Wheel, len(e.wrong), e.wrong[:min(2, len(e.wrong))])
		}
	}
	if 50*bad > trials {
		t.Errorf("%d of %d wrong", bad, trials)
	}
}

const lonelyHoleS = 0.01

// lonelyHole is a steady wheel, its wave lost once from a time on.
func lonelyHole(w captures.Wheel, rpm, hz, seconds, from float64) []float64 {
	b := bumps{places: gapped(w.Pitches, w.Pitches-w.TeethPresent()), sigma: 0.2 / float64(w.Pitches), rpm: 1000}
	v := b.drive(hz, seconds, 0.01, func(_, _ float64) float64 { return rpm })
	random := rand.New(rand.NewPCG(5, 5))
	for i := int(from * hz); i < int((from+lonelyHoleS)*hz); i++ {
		v[i] = 0.01 * random.NormFloat64()
	}
	return v
}

// eachLonelyHole measures waves of some wheels and speeds that are lost once, so many
// turns from their beginning or before their end, and gives the teeth that went by
// meanwhile.
func eachLonelyHole(t *testing.T, turns []float64, atEnd bool, check func(what string, m Measurement, lost float64)) {
	const hz, seconds = 100e3, 1.0
	for _, name := range []string{"36-1", "60-2", "24-1"} {
		for _, rpm := range []float64{1500, 2500, 3000} {
			for _, some := range turns {
				w := wheel(t, name)
				from := some * 60 / rpm
				if atEnd {
					from = seconds - from - lonelyHoleS
				}
				m, err := Measure(wave(lonelyHole(w, rpm, hz, seconds, from), 1/hz, 4096), Options{KeepTeeth: true})
				if err != nil {
					t.Fatal(err)
				}
				if len(m.ToothList) == 0 {
					t.Errorf("%s at %g rpm, %g turns off: no teeth (polarity %s, %s)", name, rpm, some, m.Polarity, m.PolarityWhy)
					continue
				}
				lost := lonelyHoleS * rpm / 60 * float64(w.TeethPresent())
				check(fmt.Sprintf("%s at %g rpm, hole of %g teeth, %g turns off", name, rpm, lost, some), m, lost)
			}
		}
	}
}

// TestHoleBeforeTheEnd: however little of the wave comes behind a hole, its teeth
// are placed from that.
func TestHoleBeforeTheEnd(t *testing.T) {
	eachLonelyHole(t, []float64{0.2, 0.3, 0.6, 1.5, 2.5, 4, 6, 8}, true, func(what string, m Measurement, lost float64) {
		last := m.ToothList[len(m.ToothList)-1]
		pitchS := 60 / last.RPM / float64(m.Wheel.Pitches)
		if math.Abs(float64(m.Unseen)-lost) > 4 || last.TimeS < 1-4*pitchS {
			t.Errorf("%s: %d unseen, the last tooth at %.4f s", what, m.Unseen, last.TimeS)
		}
	})
}

// TestHoleAfterTheBeginning: however little of the wave comes before a hole, its
// teeth are placed by those behind.
func TestHoleAfterTheBeginning(t *testing.T) {
	eachLonelyHole(t, []float64{0.2, 0.3, 0.6, 1, 1.5, 2.5}, false, func(what string, m Measurement, lost float64) {
		first := m.ToothList[0]
		pitchS := 60 / first.RPM / float64(m.Wheel.Pitches)
		// The wheel's first tooth is at 0 s.
		number := 1 + int(math.Round(first.TimeS/pitchS))
		if math.Abs(float64(m.Unseen)-lost) > 4 || first.Number != number || first.TimeS > 3*pitchS {
			t.Errorf("%s: %d unseen, the first at %.4f s is tooth %d, want %d", what, m.Unseen, first.TimeS, first.Number, number)
		}
	})
}

// TestHoleLikeAGap: of two intervals as long as the wheel's gap, in its first turn,
// that is the gap which comes again.
func TestHoleLikeAGap(t *testing.T) {
	const hz, seconds = 100e3, 1.0
	b := bumps{places: gapped(12, 1), sigma: 0.2 / 12, rpm: 900}
	v := b.drive(hz, seconds, 0.01, func(_, _ float64) float64 { return 900 })
	clear(v[1389:1944]) // tooth 4
	m, err := Measure(wave(v, 1/hz, 4096), Options{KeepTeeth: true, Wheel: wheel(t, "12-1")})
	if err != nil {
		t.Fatal(err)
	}
	if m.Unseen != 1 || m.ToothList[0].Number != 2 {
		t.Errorf("%d unseen, the first is tooth %d; want 1 and tooth 2", m.Unseen, m.ToothList[0].Number)
	}
}

// TestNoHoleInACompression turns an engine faster than most are cranked, through
// compressions that come at other teeth in every second turn: a tooth that comes
// late is none behind a hole.
func TestNoHoleInACompression(t *testing.T) {
	for _, c := range []struct {
		missing int
		rpm     float64
	}{{1, 320}, {1, 400}, {1, 500}, {0, 228}, {0, 260}, {0, 300}, {0, 400}} {
		b := bumps{places: gapped(24, c.missing), sigma: 0.2 / 24, rpm: c.rpm}
		v := b.drive(100e3, 3, 0.02, func(_, turns float64) float64 {
			return c.rpm * (1 + 0.44*math.Cos(2*math.Pi*1.5*turns))
		})
		stated := "24"
		if c.missing > 0 {
			stated = fmt.Sprintf("24-%d", c.missing)
		}
		m, err := Measure(wave(v, 1e-5, 4096), Options{Wheel: wheel(t, stated), KeepTeeth: true})
		if err != nil {
			t.Fatal(err)
		}
		// Over the wheel's turning the speed is even about its mean, over time slower.
		expected := int(3 * c.rpm * math.Sqrt(1-0.44*0.44) / 60 * float64(24-c.missing))
		if m.Unseen > 0 || has(m, "dropout") || len(m.ToothList) < expected-4 {
			t.Errorf("%s at %g rpm: %d of %d teeth, %d unseen, findings %v", stated, c.rpm, len(m.ToothList), expected, m.Unseen, m.Findings)
		}
	}
}

// TestLossesNearTheEnd: teeth are found again behind losses of which the last part
// of a wave, too short for a wave to be sought in usually, has several.
func TestLossesNearTheEnd(t *testing.T) {
	const hz = 100e3
	b, _ := bumpsWithout(t, "24-1", []int{23})
	b.rpm = 6000
	v := b.samples(hz, 0.5, 0, 0.02)
	random := rand.New(rand.NewPCG(3, 4))
	for _, lost := range [][2]int{{39000, 40200}, {41500, 42500}} {
		for i := lost[0]; i < lost[1]; i++ {
			v[i] = 0.02 * random.NormFloat64()
		}
	}
	m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: wheel(t, "24-1")})
	if err != nil {
		t.Fatal(err)
	}
	lost := int64(23 * 2200 / 1000)
	if all := m.Teeth + m.Unseen; all < 23*50-2 || all > 23*50 || m.Unseen < lost-3 || m.Unseen > lost+2 {
		t.Errorf("%d teeth and %d unseen; want %d in all, about %d of them unseen", m.Teeth, m.Unseen, 23*50, lost)
	}
}

// TestHolesReverseNoWires: two of a loose contact's holes lie apart by some number of
// intervals, but that is no turn of a wheel.
func TestHolesReverseNoWires(t *testing.T) {
	const hz, seconds = 50e3, 1.0
	w := wheel(t, "24")
	for seed := range uint64(60) {
		random := rand.New(rand.NewPCG(seed, 9))
		rpm := 1000 + 2000*random.Float64()
		b := bumps{places: gapped(24, 0), sigma: 0.2 / 24, rpm: 1000}
		v := b.drive(hz, seconds, 0.01, func(_, _ float64) float64 { return rpm })
		for range 5 {
			from := int((0.1 + 0.8*random.Float64()) * float64(len(v)))
			clear(v[from : from+int((0.002+0.004*random.Float64())*hz)])
		}
		m, err := Measure(wave(v, 1/hz, 4096), Options{Wheel: w})
		if err != nil {
			t.Fatal(err)
		}
		if m.Polarity == Reversed {
			t.Errorf("seed %d, %.0f rpm: reversed: %s", seed, rpm, m.PolarityWhy)
		}
	}
}

// TestHolesTellNoOrder: a third of a wheel's turn is as the others, and stays so where
// the wave is lost at times.
func TestHolesTellNoOrder(t *testing.T) {
	const hz, seconds = 50e3, 2.5
	b := bumps{sigma: 0.2 / 36, rpm: 1000}
	for place := range 36 {
		if place%12 < 10 {
			b.places = append(b.places, float64(place)/36)
		}
	}
	for seed := range uint64(30) {
		random := rand.New(rand.NewPCG(seed, 10))
		rpm := 900 + 2000*random.Float64()
		v := b.drive(hz, seconds, 0.02, func(s, _ float64) float64 { return rpm + 400*s })
		for at := 0.1; at < seconds-0.1; at += 0.02 + 0.4*random.Float64() {
			clear(v[int(at*hz):int((at+0.002+0.005*random.Float64())*hz)])
		}
		m, err := Measure(wave(v, 1/hz, 4096), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if m.Wheel.Known() {
			t.Errorf("seed %d, from %.0f rpm: told to be %s", seed, rpm, m.Wheel)
		}
	}
}

// TestLostForGood: where the wave is lost and does not come again, the teeth that passed
// meanwhile are counted, for as long as no engine comes to rest; none where it does come
// to rest, and where nothing is lost.
func TestLostForGood(t *testing.T) {
	const hz, seconds = 100e3, 1.0
	b := bumps{places: gapped(36, 1), sigma: 0.2 / 36., rpm: 1000}
	for _, c := range []struct {
		name        string
		rpm, slowed float64 // at the beginning, and what it loses in the second
		lostS       float64 // before the end
		most        float64 // seconds that are counted
	}{
		{"fast, shortly", 6000, 0, 0.06, 1},
		{"fast, for long", 6000, 0, 0.5, 0.25},
		{"slowly", 800, 0, 0.03, 1},
		{"nothing lost", 6000, 0, 0, 1},
		{"a gap at the end", 6000, 0, 0.0004, 0},
		{"running down", 2500, 2480, 0, 1},
	} {
		v := b.drive(hz, seconds, 0.01, func(s, _ float64) float64 { return c.rpm - c.slowed*s })
		from := len(v) - int(c.lostS*hz)
		for i := range v[from:] {
			v[from+i] = 0.002 * math.Sin(float64(i))
		}
		m, err := Measure(wave(v, 1/hz, 4096), Options{KeepTeeth: true})
		if err != nil {
			t.Fatal(err)
		}
		isTold := slices.ContainsFunc(m.Findings, func(f captures.Finding) bool { return strings.Contains(f.Text, "does not come again") })
		if isTold != (c.lostS > 0.001) {
			t.Errorf("%s: told %v: %+v", c.name, isTold, m.Findings)
		}
		want := min(c.lostS, c.most) * c.rpm / 60 * 35
		if d := float64(m.Unseen) - want; math.Abs(d) > 2 || c.lostS == 0 && m.Unseen > 0 {
			t.Errorf("%s: %d teeth unseen, want %.0f", c.name, m.Unseen, want)
		}
	}
}

// TestHeldAtAVoltage: a loose contact may hold the wave at whatever voltage it had, again and
// again, in swings far stronger than those of teeth; the teeth between and behind are found.
func TestHeldAtAVoltage(t *testing.T) {
	const hz, lengthS = 125e3, 3.0
	b, teeth := bumpsWithout(t, "60-2", []int{58, 59})
	b.sigma, b.rpm = 0.17/60, 3500
	v := b.samples(hz, lengthS, 0, 0.005)
	held := 0.0
	for _, s := range [][2]float64{
		{1.3401, 1.3499}, {1.3546, 1.3579}, {1.3611, 1.3735}, {1.3807, 1.3838}, {1.4012, 1.4085},
		{1.7312, 1.7416}, {1.7542, 1.762}, {1.7765, 1.7905}, {1.7985, 1.811}, {1.8278, 1.8408},
	} {
		from, to := int(s[0]*hz), int(s[1]*hz)
		for i := from; i < to; i++ {
			v[i] = v[from]
		}
		held += s[1] - s[0]
	}
	m, err := Measure(wave(v, 1/hz, 5000), Options{Wheel: wheel(t, "60-2")})
	if err != nil {
		t.Fatal(err)
	}
	perS := b.rpm / 60 * float64(teeth)
	if lost := float64(m.Unseen); math.Abs(float64(m.Teeth)+lost-lengthS*perS) > 3 || lost < 0.8*held*perS || lost > 1.5*held*perS {
		t.Errorf("%d teeth, %d unseen; want %.0f and about %.0f", m.Teeth, m.Unseen, (lengthS-held)*perS, held*perS)
	}
}
