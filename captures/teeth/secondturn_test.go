package teeth

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"armcurve/captures"
)

// inSecondTurns adds a pulse, so many times a tooth and so wide, to every second
// turn of a wave at a constant speed, and noise.
func (b bumps) inSecondTurns(v []float64, hz, place, times, widthTurns float64) {
	random := rand.New(rand.NewPCG(7, 8))
	for i := range v {
		turns := float64(i) / hz * b.rpm / 60
		d := math.Remainder(turns-place, 2) / widthTurns
		v[i] += b.rpm / 1000 * (-times*d*math.Exp(-d*d/2) + 0.005*random.NormFloat64())
	}
}

// TestPulseInSecondTurns: a copy of a cam's pulse where teeth are missing, in every
// second turn, makes no other wheel of it, stated or not; a strong one is told of.
func TestPulseInSecondTurns(t *testing.T) {
	for _, c := range []struct {
		wheel string
		empty []int
		place float64 // pitches from the first empty place
	}{
		{"12-1", []int{11}, 0}, {"12-1", []int{11}, 0.3}, {"36-1", []int{35}, 0}, {"36-1", []int{35}, -0.25},
		{"60-2", []int{58, 59}, 0.5}, {"60-2", []int{58, 59}, 0.1}, {"36-2-2-2", []int{14, 15, 17, 18, 34, 35}, 0.5},
	} {
		for _, times := range []float64{0.3, 0.6} {
			for _, stated := range []bool{false, true} {
				name := fmt.Sprintf("%s, %g × at %g, stated %t", c.wheel, times, c.place, stated)
				b, teeth := bumpsWithout(t, c.wheel, c.empty)
				pitch := 1 / float64(wheel(t, c.wheel).Pitches)
				v := b.samples(100e3, 3, 0, 0)
				b.inSecondTurns(v, 100e3, (float64(c.empty[0])+0.5+c.place)*pitch, times, 0.8*b.sigma)
				o := Options{}
				if stated {
					o.Wheel = wheel(t, c.wheel)
				}
				m, err := Measure(wave(v, 1e-5, 5000), o)
				if err != nil {
					t.Fatal(err)
				}
				isTold := slices.ContainsFunc(m.Findings, func(f captures.Finding) bool { return f.Kind == "cross-talk" })
				if isTold != (times > 0.5) || m.Wheel.String() != c.wheel || math.Abs(float64(m.Teeth)-3*b.rpm/60*float64(teeth)) > 2 || m.Unseen > 0 {
					t.Errorf("%s: wheel %q (%s), %d teeth, %d unseen", name, m.Wheel, m.WheelWhy, m.Teeth, m.Unseen)
				}
			}
		}
	}
}

// TestPulseBetweenTeeth: where the wave rests between narrow teeth, a cam's pulses show there
// as well; they make no other wheel of a stated one, with a gap or without, nor tell that the
// wires are swapped. In a gap one may be much like a tooth, but is not where one could be.
func TestPulseBetweenTeeth(t *testing.T) {
	for _, c := range []struct {
		wheel  string
		empty  []int
		places []float64 // pitches from the first place of the wheel, over two turns
		times  float64
	}{
		{"12-1", []int{11}, []float64{7.5}, 0.56},
		{"12-1", []int{11}, []float64{11.33}, 0.9},
		{"12-1", []int{11}, []float64{1.43, 4.43, 12 + 7.43, 12 + 11.43}, 0.5},
		{"36-1", []int{35}, []float64{16.7, 34.7, 36 + 7.7, 36 + 31.7}, 0.63},
		{"24", nil, []float64{12.6, 22.6, 24 + 2.6}, 0.6},
		{"24", nil, []float64{3.5}, 0.7},
	} {
		b, teeth := bumpsWithout(t, c.wheel, c.empty)
		pitches := float64(wheel(t, c.wheel).Pitches)
		b.sigma = 0.13 / pitches
		v := b.samples(100e3, 3, 0, 0)
		for _, place := range c.places {
			b.inSecondTurns(v, 100e3, (place+0.5)/pitches, c.times, 1.2*b.sigma)
		}
		m, err := Measure(wave(v, 1e-5, 5000), Options{Wheel: wheel(t, c.wheel)})
		if err != nil {
			t.Fatal(err)
		}
		isTold := slices.ContainsFunc(m.Findings, func(f captures.Finding) bool { return f.Kind == "cross-talk" })
		if !isTold || m.Wheel.String() != c.wheel || m.Polarity == Reversed || math.Abs(float64(m.Teeth)-3*b.rpm/60*float64(teeth)) > 2 || m.Unseen > 0 {
			t.Errorf("%s, pulses at %v: wheel %q (%s), %s, %d of %g teeth, %d unseen, told %t", c.wheel, c.places, m.Wheel, m.WheelWhy, m.Polarity, m.Teeth, 3*b.rpm/60*float64(teeth), m.Unseen, isTold)
		}
	}
}

// TestPulsesOnEvenGaps: pulses in every second turn are told on a stated wheel whose order
// comes several times in a turn, too.
func TestPulsesOnEvenGaps(t *testing.T) {
	const times = 0.7
	for _, width := range []float64{1.6, 2.2} {
		b, teeth := bumpsWithout(t, "36-2-2-2", []int{10, 11, 22, 23, 34, 35})
		v := b.samples(100e3, 3, 0, 0)
		for _, place := range []float64{11, 5.3, 36 + 23.2} {
			b.inSecondTurns(v, 100e3, place/36, times, width*b.sigma)
		}
		m, err := Measure(wave(v, 1e-5, 5000), Options{Wheel: wheel(t, "36-2-2-2")})
		if err != nil {
			t.Fatal(err)
		}
		if m.Wheel.String() != "36-2-2-2" || math.Abs(float64(m.Teeth)-75*float64(teeth)) > 2 || m.Unseen > 0 {
			t.Errorf("%g × as wide: wheel %q (%s), %d teeth, %d unseen", width, m.Wheel, m.WheelWhy, m.Teeth, m.Unseen)
		}
	}
}

func bumpsWithout(t *testing.T, text string, empty []int) (b bumps, teeth int) {
	pitches := wheel(t, text).Pitches
	b = bumps{sigma: 0.22 / float64(pitches), rpm: 1500}
	isEmpty := map[int]bool{}
	for _, p := range empty {
		isEmpty[p] = true
	}
	for p := range pitches {
		if !isEmpty[p] {
			b.places = append(b.places, (float64(p)+0.5)/float64(pitches))
		}
	}
	return b, len(b.places)
}

// TestShortToothOppositeTheGap: a wheel with one gap and a tooth that is half as
// high half a turn on is that wheel, though the half of it would make such a wave
// with a pulse in every second turn: its other teeth are not the same either.
func TestShortToothOppositeTheGap(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	b, _ := bumpsWithout(t, "24-1", []int{23})
	b.rpm = 1000
	gains := make([]float64, len(b.places))
	for i := range gains {
		gains[i] = 1 + 0.015*random.NormFloat64()
	}
	gains[11] = 0.5
	v := make([]float64, 300000)
	for i := range v {
		turns := float64(i) / 100e3 * b.rpm / 60
		for j, p := range b.places {
			d := math.Remainder(turns-p, 1) / b.sigma
			v[i] -= gains[j] * d * math.Exp(-d*d/2)
		}
		v[i] += 0.005 * random.NormFloat64()
	}
	for _, stated := range []captures.Wheel{{}, wheel(t, "24-1")} {
		m, err := Measure(wave(v, 1e-5, 5000), Options{Wheel: stated})
		if err != nil {
			t.Fatal(err)
		}
		if m.Wheel.String() != "24-1" {
			t.Errorf("stated %q: wheel %q (%s)", stated, m.Wheel, m.WheelWhy)
		}
	}
}

// TestPulseGrowsIntoTheGap: pulses late in the gap, that come when the wheel has long
// been known, do not move the count on.
func TestPulseGrowsIntoTheGap(t *testing.T) {
	for _, place := range []float64{1.0, 1.1, 1.2} {
		for _, times := range []float64{0.65, 0.75} {
			b, teeth := bumpsWithout(t, "36-2-2-2", []int{10, 11, 22, 23, 34, 35})
			v := b.samples(100e3, 3, 0, 0)
			b.inSecondTurns(v[120000:], 100e3, (10.5+place)/36, times, 0.8*b.sigma)
			m, err := Measure(wave(v, 1e-5, 5000), Options{Wheel: wheel(t, "36-2-2-2"), KeepTeeth: true})
			if err != nil {
				t.Fatal(err)
			}
			strays := 0
			for _, x := range m.ToothList {
				turns := x.TimeS * b.rpm / 60 * 3 // of a third of the wheel
				if off := math.Remainder(12*turns-0.5-float64(x.Number-1)-2*float64((x.Number-1)/10), 12); math.Abs(off) > 0.3 {
					strays++
				}
			}
			if m.Unseen > 0 || strays > 0 || math.Abs(float64(m.Teeth)-75*float64(teeth)) > 2 {
				t.Errorf("%g × at %g: %d teeth, %d unseen, %d with another's number", times, place, m.Teeth, m.Unseen, strays)
			}
		}
	}
}

// TestPulseInEveryTurn: pulses of a cam with several teeth, that come in every turn where
// teeth are missing, weaker than the teeth, are told from them where the wheel is stated,
// from the first turn on.
func TestPulseInEveryTurn(t *testing.T) {
	for _, c := range []struct {
		wheel  string
		empty  []int
		places []float64 // pitches from the first place of the wheel
	}{
		{"36-2-2-2", []int{16, 17, 19, 20, 34, 35}, []float64{17.2, 35.2}},
		{"36-2-2-2", []int{16, 17, 19, 20, 34, 35}, []float64{17, 20, 35}},
		{"36-2-2-2", []int{10, 11, 22, 23, 34, 35}, []float64{11}},
		{"60-2", []int{58, 59}, []float64{59}},
	} {
		b, teeth := bumpsWithout(t, c.wheel, c.empty)
		pitches := float64(wheel(t, c.wheel).Pitches)
		v := b.samples(100e3, 3, 0, 0)
		for _, place := range c.places {
			for turn := range 2 {
				b.inSecondTurns(v, 100e3, (place+0.5)/pitches+float64(turn), 0.45, 0.8*b.sigma)
			}
		}
		m, err := Measure(wave(v, 1e-5, 5000), Options{Wheel: wheel(t, c.wheel)})
		if err != nil {
			t.Fatal(err)
		}
		isTold := slices.ContainsFunc(m.Findings, func(f captures.Finding) bool { return f.Kind == "cross-talk" })
		if !isTold || m.Wheel.String() != c.wheel || math.Abs(float64(m.Teeth)-3*b.rpm/60*float64(teeth)) > 2 || m.Unseen > 0 {
			t.Errorf("%s, pulses at %v: wheel %q (%s), %d of %g teeth, %d unseen, told %t", c.wheel, c.places, m.Wheel, m.WheelWhy, m.Teeth, 3*b.rpm/60*float64(teeth), m.Unseen, isTold)
		}
	}
}
