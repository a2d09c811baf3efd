package replay

import (
	"io"
	"testing"

	"armcurve/captures"
	"armcurve/captures/simulate"
	"armcurve/captures/teeth"
	"armcurve/threshold"
)

// inMemory is a wave that is already read.
type inMemory struct {
	info captures.WaveInfo
	v    []float64
	at   int
}

func (m *inMemory) Info() captures.WaveInfo      { return m.info }
func (m *inMemory) Findings() []captures.Finding { return nil }
func (m *inMemory) Close() error                 { return nil }
func (m *inMemory) Next(b *captures.Block) error {
	to := min(m.at+1<<14, len(m.v))
	if m.at == to {
		return io.EOF
	}
	b.First, b.V = int64(m.at), append(b.V[:0], m.v[m.at:to])
	m.at = to
	return nil
}

// BenchmarkInvestigate tells how much longer measuring takes with two tables
// replayed beside it, without the reading of a file. The capture has spikes in
// every turn.
func BenchmarkInvestigate(b *testing.B) {
	s, err := simulate.FindScenario("ignition-spikes")
	if err != nil {
		b.Fatal(err)
	}
	rig := s.Captures[0]
	rig.SampleHz, rig.LengthS = 500e3, 4
	source, err := simulate.Open(rig)
	if err != nil {
		b.Fatal(err)
	}
	wave := &inMemory{info: source.Info()}
	var block captures.Block
	for source.Next(&block) == nil {
		wave.v = append(wave.v, block.V[0]...)
	}
	table := tableOf(s.Tables[0].Rows)
	for _, with := range []string{"measure", "investigate"} {
		b.Run(with, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				wave.at = 0
				var o teeth.Options
				var r *Replay
				if with == "investigate" {
					if r, err = New(wave.info, Options{Tables: []threshold.Table{table, table}}); err != nil {
						b.Fatal(err)
					}
					o.Watch = tape{r}
				}
				m, err := teeth.Measure(wave, o)
				if err != nil {
					b.Fatal(err)
				}
				if r != nil {
					r.End()
					if _, err := r.Result(0, factsOf(m)); err != nil {
						b.Fatal(err)
					}
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(wave.v)), "ns/sample")
		})
	}
}
