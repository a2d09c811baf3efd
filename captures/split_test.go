package captures

import (
	"io"
	"slices"
	"sync"
	"testing"
)

// counting is a wave of two channels, 0, 1, 2, … and its negative.
type counting struct {
	next, end int
	closed    bool
}

func (c *counting) Info() WaveInfo {
	return WaveInfo{Channels: []Channel{{Name: "up"}, {Name: "down"}}, StepS: 1}
}

func (c *counting) Next(b *Block) error {
	b.V = [][]float64{nil, nil}
	if c.next == c.end {
		return io.EOF
	}
	b.First = int64(c.next)
	for range min(7, c.end-c.next) {
		b.V[0] = append(b.V[0], float64(c.next))
		b.V[1] = append(b.V[1], -float64(c.next))
		c.next++
	}
	return nil
}

func (c *counting) Findings() []Finding { return []Finding{{Kind: "seen"}} }
func (c *counting) Close() error        { c.closed = true; return nil }

// drain reads a source to its end.
func drain(t *testing.T, s Source) []float64 {
	var all []float64
	var b Block
	for {
		err := s.Next(&b)
		if err == io.EOF {
			return all
		}
		if err != nil || b.First != int64(len(all)) {
			t.Errorf("block at %d after %d samples, error %v", b.First, len(all), err)
			return all
		}
		all = append(all, b.V[0]...)
	}
}

func TestSplit(t *testing.T) {
	source := &counting{end: 1000}
	parts := Split(source)
	got := make([][]float64, len(parts))
	var wg sync.WaitGroup
	for i, p := range parts {
		wg.Go(func() {
			got[i] = drain(t, p)
			p.Close()
		})
	}
	wg.Wait()
	for i := range 1000 {
		if got[0][i] != float64(i) || got[1][i] != -float64(i) {
			t.Fatalf("sample %d is %v and %v", i, got[0][i], got[1][i])
		}
	}
	if !source.closed || len(parts[0].Findings()) != 1 || parts[1].Findings() != nil {
		t.Errorf("closed %v, findings %v and %v", source.closed, parts[0].Findings(), parts[1].Findings())
	}
	if name := parts[1].Info().Channels; !slices.Equal(name, []Channel{{Name: "down"}}) {
		t.Errorf("channels of the second: %v", name)
	}
}

// A part that is closed early does not hold up the other.
func TestSplitClosedEarly(t *testing.T) {
	parts := Split(&counting{end: 100})
	var b Block
	if err := parts[0].Next(&b); err != nil {
		t.Fatal(err)
	}
	parts[0].Close()
	if got := drain(t, parts[1]); len(got) != 100 {
		t.Errorf("the other read %d samples; want 100", len(got))
	}
}
