package csvfile

import (
	"bytes"
	"errors"
	"io"
	"runtime"
	"sync"
)

// textBlock is a run of whole lines and the samples read from them.
type textBlock struct {
	text blockText
	end  int
	// unfinished tells that the last line had no line end.
	unfinished bool
	rows       parsedRows
	parsed     chan struct{}
}

// textFeed cuts a stream into blocks.
type textFeed struct {
	r     io.Reader
	carry []byte // the beginning of a line whose end is still to come
	ended bool
	err   error // what ended the stream, if not its end
}

// fill puts the next lines into a block; false behind the last.
func (f *textFeed) fill(b *textBlock) bool {
	b.end, b.unfinished = 0, false
	filled := copy(b.text[:], f.carry)
	for !f.ended && b.end == 0 {
		filled += f.read(b.text[filled:blockBytes])
		filled = len(bytes.TrimRight(b.text[:filled], "\x00")) // padding
		b.end = bytes.LastIndexByte(b.text[:filled], '\n') + 1
		if b.end == 0 && filled == blockBytes {
			f.ended, f.err = true, errLongLine
		}
	}
	if f.err != nil {
		filled = b.end
	}
	if f.ended && b.end < filled {
		b.text[filled] = '\n'
		filled++
		b.end, b.unfinished = filled, true
	}
	f.carry = append(f.carry[:0], b.text[b.end:filled]...)
	return b.end > 0
}

// read fills text as far as the stream goes.
func (f *textFeed) read(text []byte) (n int) {
	for n < len(text) && !f.ended {
		m, err := f.r.Read(text[n:])
		n += m
		if err != nil {
			f.ended = true
			if !errors.Is(err, io.EOF) {
				f.err = err
			}
		}
	}
	return n
}

// ending is what ended the stream.
func (f *textFeed) ending() error {
	if f.err != nil {
		return f.err
	}
	return io.EOF
}

// blockReader reads a stream into blocks of samples, in order. Whoever asks for
// the next one reads blocks itself while it is not ready; where there are more
// cores, others read ahead.
type blockReader struct {
	feed   textFeed
	mu     sync.Mutex // guards feed, ended and the order of sending
	ended  bool
	free   chan *textBlock // to be filled
	order  chan *textBlock // filled, in the order of the text, parsed or not yet
	stop   chan struct{}
	over   sync.Once
	parser *rowParser // of the one who asks
	ahead  *textBlock // the next one in order, or nil if that is not known
}

// readBlocks starts to read.
func readBlocks(r io.Reader, plan *rowPlan, channels int) *blockReader {
	const mostHelpers = 2
	helpers := min(mostHelpers, runtime.GOMAXPROCS(0)-1)
	blocks := 2 + 2*helpers
	b := &blockReader{
		feed:   textFeed{r: r},
		free:   make(chan *textBlock, blocks),
		order:  make(chan *textBlock, blocks),
		stop:   make(chan struct{}),
		parser: newRowParser(plan),
	}
	for range blocks {
		b.free <- &textBlock{rows: parsedRows{volts: make([][]float64, channels)}, parsed: make(chan struct{}, 1)}
	}
	for range helpers {
		go b.help(newRowParser(plan))
	}
	return b
}

// help reads ahead.
func (b *blockReader) help(p *rowParser) {
	for {
		select {
		case block := <-b.free:
			if !b.read(block, p) {
				return
			}
		case <-b.stop:
			return
		}
	}
}

// read reads the next block; false behind the last.
func (b *blockReader) read(block *textBlock, p *rowParser) bool {
	if !b.fill(block) {
		return false
	}
	p.parseBlock(block)
	block.parsed <- struct{}{}
	return true
}

// fill reads the next block and puts it in order.
func (b *blockReader) fill(block *textBlock) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.ended && !b.feed.fill(block) {
		b.ended = true
		close(b.order)
	}
	if b.ended {
		return false
	}
	b.order <- block
	return true
}

// parseBlock reads the rows of a block.
func (p *rowParser) parseBlock(b *textBlock) {
	b.rows.begin(p.cells)
	if !b.unfinished {
		p.parse(&b.text, b.end, &b.rows)
	} else {
		text := b.text[:b.end-1]
		last := bytes.LastIndexByte(text, '\n') + 1
		p.parse(&b.text, last, &b.rows)
		var above []byte
		if last > 0 {
			above = text[bytes.LastIndexByte(text[:last-1], '\n')+1 : last-1]
		}
		p.lastRow(text[last:], above, &b.rows)
	}
	b.rows.finish(p.factor)
}

// next returns the next block, io.EOF behind the last.
func (b *blockReader) next() (*textBlock, error) {
	for !b.isReady() {
		select {
		case block := <-b.free:
			b.read(block, b.parser)
			continue
		default: // all are being read
		}
		if b.ahead == nil {
			var ok bool
			if b.ahead, ok = <-b.order; !ok {
				return nil, b.feed.ending()
			}
		}
		<-b.ahead.parsed
		break
	}
	block := b.ahead
	b.ahead = nil
	return block, nil
}

// isReady tells whether the next block is parsed, which is then taken note of.
func (b *blockReader) isReady() bool {
	if b.ahead == nil {
		select {
		case b.ahead = <-b.order: // nil behind the last
		default:
		}
	}
	if b.ahead == nil {
		return false
	}
	select {
	case <-b.ahead.parsed:
		return true
	default:
		return false
	}
}

// halt lets the goroutines end.
func (b *blockReader) halt() { b.over.Do(func() { close(b.stop) }) }
