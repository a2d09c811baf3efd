package teeth

import (
	"io"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

// recorded is a wave in memory, so that a benchmark measures this package only.
type recorded struct {
	info   captures.WaveInfo
	blocks [][]float64
	next   int
	first  int64
}

func (r *recorded) Info() captures.WaveInfo      { return r.info }
func (r *recorded) Findings() []captures.Finding { return nil }
func (r *recorded) Close() error                 { return nil }
func (r *recorded) Next(b *captures.Block) error {
	if r.next == len(r.blocks) {
		return io.EOF
	}
	b.First = r.first
	b.V = append(b.V[:0], r.blocks[r.next])
	r.first += int64(len(r.blocks[r.next]))
	r.next++
	return nil
}

func record(t testing.TB, g simulate.Rig) *recorded {
	source, err := simulate.Open(g)
	if err != nil {
		t.Fatal(err)
	}
	r := &recorded{info: source.Info()}
	var b captures.Block
	for source.Next(&b) == nil {
		r.blocks = append(r.blocks, append([]float64(nil), b.V[0]...))
	}
	return r
}

// BenchmarkMeasure tells how long a sample takes: a pull of a 36-1 wheel with
// noise at 200 kHz.
func BenchmarkMeasure(b *testing.B) {
	g := rig(b, "36-1")
	g.Speed = simulate.Pull(800, 7000, 10)
	g.LengthS = 10
	g.Sensors[0].Noise = []simulate.Noise{{SigmaV: 0.05, RateHz: 12000}}
	wave := record(b, g)
	b.ReportAllocs()
	for b.Loop() {
		wave.next, wave.first = 0, 0
		if _, err := Measure(wave, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/(g.LengthS*g.SampleHz), "ns/sample")
}
