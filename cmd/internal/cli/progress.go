package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"unicode/utf8"
)

// progress tells on a terminal how much of a long file has been read, in one
// line that is written over itself and taken away at the end. It goes by what
// was read and not by a clock.
type progress struct {
	to   io.Writer
	name string
	size int64 // bytes; 0 where it is not known

	mu    sync.Mutex // a reader that is not needed any more may still be reading
	read  int64
	shown int64 // what was read when the line was written last
	width int   // of the line that stands there
	over  bool
}

// The bytes from line to line: a hundredth of the file, and never so few that a
// file which is read in no time shows one.
const (
	progressShare = 100
	progressLeast = 8 << 20
)

// watched shows on a terminal how the sources are read.
func watched(list []source, terminal io.Writer) []source {
	for i := range list {
		open, name := list[i].open, list[i].name
		list[i].open = func() (io.ReadCloser, error) {
			r, err := open()
			if err != nil {
				return nil, err
			}
			return watch(r, &progress{to: terminal, name: name}), nil
		}
	}
	return list
}

// watch tells p what is read. A file stays one that can be wound back.
func watch(r io.ReadCloser, p *progress) io.ReadCloser {
	f, ok := r.(*os.File)
	if !ok {
		return watchedStream{r, p}
	}
	if info, err := f.Stat(); err == nil && info.Mode().IsRegular() {
		p.size = info.Size()
	}
	return watchedFile{f, p}
}

type watchedStream struct {
	io.ReadCloser
	p *progress
}

func (s watchedStream) Read(b []byte) (int, error) {
	n, err := s.ReadCloser.Read(b)
	s.p.add(n)
	return n, err
}

func (s watchedStream) Close() error {
	s.p.end()
	return s.ReadCloser.Close()
}

type watchedFile struct {
	*os.File
	p *progress
}

func (f watchedFile) Read(b []byte) (int, error) {
	n, err := f.File.Read(b)
	f.p.add(n)
	return n, err
}

func (f watchedFile) Close() error {
	f.p.end()
	return f.File.Close()
}

// add counts what was read and writes the line when it is time.
func (p *progress) add(n int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.read += int64(n)
	if p.over || p.read-p.shown < max(progressLeast, p.size/progressShare) {
		return
	}
	p.shown = p.read
	p.show(p.line())
}

func (p *progress) line() string {
	const widest = 50
	name := []rune(filepath.Base(p.name))
	if len(name) > widest {
		name = append([]rune("…"), name[len(name)-widest+1:]...)
	}
	if p.size == 0 {
		return fmt.Sprintf("%s: %d MB read", string(name), p.read/1e6)
	}
	return fmt.Sprintf("%s: %d %% of %d MB read", string(name), min(100, 100*p.read/p.size), p.size/1e6)
}

// show writes a line over the one that stands there.
func (p *progress) show(line string) {
	width := utf8.RuneCountInString(line)
	fmt.Fprint(p.to, "\r"+line+strings.Repeat(" ", max(0, p.width-width)))
	p.width = width
}

// end takes the line away.
func (p *progress) end() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.over = true
	if p.width > 0 {
		p.show("")
		fmt.Fprint(p.to, "\r")
	}
}
