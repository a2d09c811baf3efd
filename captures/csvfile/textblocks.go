package csvfile

import (
	"bytes"
	"errors"
	"io"
	"runtime"
	"slices"
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

// blockReader reads a stream into blocks of samples, in order, on as many
// goroutines as help.
type blockReader struct {
	feed  textFeed
	mu    sync.Mutex // guards feed, ended and the order of sending
	ended bool
	free  chan *textBlock // to be filled
	order chan *textBlock // filled, in the order of the text, parsed or not yet
	stop  chan struct{}
	over  sync.Once
}

// readBlocks starts to read.
func readBlocks(r io.Reader, plan *rowPlan, channels int) *blockReader {
	workers := min(2, runtime.GOMAXPROCS(0))
	blocks := 2 * workers
	b := &blockReader{
		feed:  textFeed{r: r, carry: make([]byte, 0, blockBytes)},
		free:  make(chan *textBlock, blocks),
		order: make(chan *textBlock, blocks),
		stop:  make(chan struct{}),
	}
	for range blocks {
		b.free <- &textBlock{
			rows:   parsedRows{volts: make([][]float64, channels)},
			parsed: make(chan struct{}, 1),
		}
	}
	for range workers {
		go b.work(&rowParser{rowPlan: plan, cells: slices.Clone(plan.columns)})
	}
	return b
}

func (b *blockReader) work(p *rowParser) {
	for {
		select {
		case block := <-b.free:
			if !b.fill(block) {
				return
			}
			p.parseBlock(block)
			block.parsed <- struct{}{}
		case <-b.stop:
			return
		}
	}
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
	block, ok := <-b.order
	switch {
	case ok:
		<-block.parsed
		return block, nil
	case b.feed.err != nil:
		return nil, b.feed.err
	}
	return nil, io.EOF
}

// halt lets the goroutines end.
func (b *blockReader) halt() { b.over.Do(func() { close(b.stop) }) }
