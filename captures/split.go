package captures

import "sync"

// Split gives each channel of a source as a source of its own, read in step:
// each must be read to its end, or closed, on a goroutine of its own, and the
// wave is still read once.
func Split(source Source) []Source {
	s := &splitter{source: source}
	s.changed = sync.NewCond(&s.mu)
	list := make([]Source, len(source.Info().Channels))
	for i := range list {
		p := &part{s: s, channel: i}
		s.parts = append(s.parts, p)
		list[i] = p
	}
	return list
}

// splitter holds the block that the parts are taking.
type splitter struct {
	source Source
	parts  []*part

	mu      sync.Mutex
	changed *sync.Cond
	block   Block
	blocks  int   // read from the source so far
	err     error // what ended the wave
}

// part is one channel.
type part struct {
	s       *splitter
	channel int
	taken   int // blocks
	closed  bool
}

func (p *part) Info() WaveInfo {
	info := p.s.source.Info()
	info.Channels = info.Channels[p.channel : p.channel+1]
	return info
}

// Next copies this part's channel of the next block. The source is read on by
// the part that comes first after all have taken the block at hand.
func (p *part) Next(b *Block) error {
	s := p.s
	s.mu.Lock()
	defer s.mu.Unlock()
	for p.taken == s.blocks && s.err == nil {
		if !s.allTaken() {
			s.changed.Wait()
			continue
		}
		if s.err = s.source.Next(&s.block); s.err == nil {
			s.blocks++
		}
		s.changed.Broadcast()
	}
	if p.taken == s.blocks {
		b.V = b.V[:0]
		return s.err
	}
	p.taken = s.blocks
	s.changed.Broadcast()
	if len(b.V) != 1 {
		b.V = make([][]float64, 1)
	}
	b.First = s.block.First
	b.V[0] = append(b.V[0][:0], s.block.V[p.channel]...)
	return nil
}

// allTaken tells whether no open part still needs the block at hand.
func (s *splitter) allTaken() bool {
	for _, p := range s.parts {
		if !p.closed && p.taken < s.blocks {
			return false
		}
	}
	return true
}

// Findings of the file stand with its first channel.
func (p *part) Findings() []Finding {
	if p.channel > 0 {
		return nil
	}
	return p.s.source.Findings()
}

// Close leaves the others to go on; the last one closes the source.
func (p *part) Close() error {
	s := p.s
	s.mu.Lock()
	defer s.mu.Unlock()
	if p.closed {
		return nil
	}
	p.closed = true
	s.changed.Broadcast()
	for _, other := range s.parts {
		if !other.closed {
			return nil
		}
	}
	return s.source.Close()
}
