package report

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Whatever pieces a wave comes in, an excerpt has the samples about its place,
// from the rest level, and the marks of what passed there; and no more of the
// wave is kept than that takes.
func TestFilm(t *testing.T) {
	const pitch, teeth, restV = 200, 500, 0.25
	wave := func(i int64) float64 { return restV + math.Sin(2*math.Pi*float64(i)/pitch) }
	random := rand.New(rand.NewPCG(5, 6))
	f := film{startS: 2, stepS: 1e-4}
	excerpts := map[int]*Excerpt{}
	given := int64(0)
	for k := range teeth {
		fall := float64(k*pitch + pitch/2)
		for end := int64(fall) + 1 + random.Int64N(pitch/4); given < end; {
			var piece []float64
			for range min(1+random.Int64N(150), end-given) {
				piece = append(piece, wave(given+int64(len(piece))))
			}
			f.wave(given, piece)
			given += int64(len(piece))
		}
		x := frame{at: fall, number: k%35 + 1, restV: restV, seen: true, thresholdV: 0.5, missed: k%7 == 0}
		if !x.missed {
			x.instants = []instant{{armedAt: fall - pitch/2 + pitch/12, at: fall, thresholdV: 0.5, afterV: 0.5}}
		}
		f.pass(x)
		if k%50 == 20 {
			excerpts[k] = new(Excerpt)
			f.order(excerpts[k], fall)
		}
		if len(f.v) > 1<<15 || len(f.frames) > 2*framesKept {
			t.Fatalf("%d samples and %d teeth are kept", len(f.v), len(f.frames))
		}
	}
	f.finish()
	for k, x := range excerpts {
		middle := float64(k*pitch + pitch/2)
		from, to := int64(middle-aroundTeeth*pitch), int64(math.Ceil(middle+aroundTeeth*pitch))
		from, to = max(from, 0), min(to, given-1)
		if len(x.Wave) > mostPoints || len(x.Wave) < mostPoints/2 || x.Wave[0].X != f.timeS(float64(from)) || x.Wave[len(x.Wave)-1].X < f.timeS(float64(to-4)) {
			t.Fatalf("tooth %d: %d points", k, len(x.Wave))
		}
		for _, p := range x.Wave {
			if i := int64(math.Round((p.X - 2) / 1e-4)); math.Abs(p.Y-(wave(i)-restV)) > 1e-12 {
				t.Fatalf("tooth %d: at %v s the wave is %v", k, p.X, p.Y)
			}
		}
		if len(x.Teeth) != 9 || len(x.Missed)+len(x.Counted) != 9 || len(x.Missed) == 0 || len(x.False) > 0 {
			t.Errorf("tooth %d: %d teeth, %d missed, %d counted, %d false", k, len(x.Teeth), len(x.Missed), len(x.Counted), len(x.False))
		}
		for _, p := range x.Armed {
			if math.Abs(p.Y-0.5) > 0.02 {
				t.Errorf("armed at %v V, over a threshold of 0.5", p.Y)
			}
		}
		for _, d := range x.Teeth {
			if math.Abs(d.Y-1) > 1e-3 {
				t.Errorf("the top of tooth %s is at %v V", d.Text, d.Y)
			}
		}
		if n := len(x.Threshold); n != 2 || x.Threshold[0].Y != 0.5 || x.Threshold[1].Y != 0.5 {
			t.Errorf("the threshold is %v", x.Threshold)
		}
	}
}

// An excerpt that another takes the place of is not cut; what lies at the ends
// of a wave, or where samples are lacking, is as long as there is wave.
func TestFilmEnds(t *testing.T) {
	f := film{stepS: 1}
	f.wave(1000, make([]float64, 500))
	f.pass(frame{at: 1100, seen: true, thresholdV: math.NaN()})
	f.pass(frame{at: 1200, seen: true, thresholdV: math.NaN()})
	var x, none Excerpt
	f.order(&x, 1200)
	f.order(&x, 1100)
	f.order(&none, 90000)
	f.finish()
	if n := len(x.Wave); n != 500 || x.Wave[0].X != 1000 || x.Threshold != nil {
		t.Errorf("%d samples, the threshold %v", n, x.Threshold)
	}
	if none.Wave != nil {
		t.Error("there is an excerpt of nothing")
	}
	f.wave(5000, []float64{1, 2})
	if f.first != 5000 || len(f.v) != 2 {
		t.Errorf("%d samples from %d after a break", len(f.v), f.first)
	}
}

// A trail keeps the lowest and the highest of the speeds, in the order of time,
// and breaks where the engine stood.
func TestTrail(t *testing.T) {
	var tr trail
	random := rand.New(rand.NewPCG(7, 8))
	const n, at, stop = 100000, 77777, 50000
	timeS := 0.0
	for i := range n {
		timeS += 0.01
		if i == stop {
			timeS += 5
		}
		p := Point{timeS, 3000 + 100*random.Float64()}
		switch i {
		case at:
			p.Y = 900
		case at + 1:
			p.Y = 9000
		case at + 2:
			p.Y = math.NaN()
		}
		tr.add(p)
	}
	points := tr.points()
	if len(points) > 2*mostStretches+1 || len(tr.stretches) < mostStretches/2 {
		t.Errorf("%d points of %d stretches", len(points), len(tr.stretches))
	}
	if low, high := tr.span(); low != 900 || high != 9000 {
		t.Errorf("from %v to %v rpm", low, high)
	}
	breaks, found := 0, 0
	for i, p := range points {
		if i > 0 && p.X < points[i-1].X {
			t.Fatal("the order is not that of time")
		}
		switch {
		case p.Y != p.Y:
			breaks++
		case p.Y == 900 || p.Y == 9000:
			found++
		}
	}
	if breaks != 1 || found != 2 {
		t.Errorf("%d breaks, %d of the 2 extremes", breaks, found)
	}
}
