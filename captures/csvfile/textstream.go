package csvfile

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"

	"armcurve/captures"
)

// headBytes is how much of a file is looked at before it is read: enough for
// every header, and for thousands of rows.
const headBytes = 64 << 10

// Unpack looks at the beginning of a file and unpacks what begins like gzip.
// The head has what tells the file's kind; whole gives everything from the
// start, and is r itself where that can be wound back. An error of packed data
// comes from whole.
func Unpack(r io.Reader) (head []byte, whole io.Reader, err error) {
	head, err = beginning(r)
	if err != nil {
		return nil, nil, err
	}
	whole = io.MultiReader(bytes.NewReader(head), r)
	if seeker, ok := r.(io.Seeker); ok {
		if _, err := seeker.Seek(int64(-len(head)), io.SeekCurrent); err == nil {
			whole = r
		}
	}
	if !bytes.HasPrefix(head, []byte{0x1f, 0x8b}) {
		return head, whole, nil
	}
	packed, err := gzip.NewReader(whole)
	if err != nil {
		return nil, nil, damaged(err)
	}
	unpacked := unpacking{packed}
	head, err = beginning(unpacked)
	return head, io.MultiReader(bytes.NewReader(head), after(unpacked, err)), nil
}

// unpacking gives what packed data hold, and says so where they are damaged.
type unpacking struct{ packed io.Reader }

func (u unpacking) Read(b []byte) (int, error) {
	n, err := u.packed.Read(b)
	if err != nil && err != io.EOF {
		err = damaged(err)
	}
	return n, err
}

func damaged(err error) error {
	return fmt.Errorf("the packed data are damaged or cut short: %w\nhint: copy or export the file again", err)
}

// beginning reads up to headBytes; the end of what there is is no error.
func beginning(r io.Reader) (head []byte, err error) {
	head = make([]byte, headBytes, headBytes+padding)
	n := 0
	for n < headBytes && err == nil {
		var m int
		m, err = r.Read(head[n:])
		n += m
	}
	return head[:n], endOrNil(err)
}

// after is what is left of a reader that may have failed already.
func after(r io.Reader, err error) io.Reader {
	if err != nil {
		return failed{err}
	}
	return r
}

type failed struct{ err error }

func (f failed) Read([]byte) (int, error) { return 0, f.err }

// textStream is a file as lines of text that end in "\n".
type textStream struct {
	head []byte    // the beginning, up to headBytes
	rest io.Reader // what follows
	// whole tells that nothing follows the head.
	whole bool
	form  string // how the text is written, for the echo
	// plain is the file where its bytes are the text's.
	plain io.ReaderAt
}

// openText finds out how a file's text is written.
func openText(r io.Reader, name string) (*textStream, error) {
	file := captures.Pos{File: name}
	raw, whole, err := Unpack(r)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(raw) == 0 {
		return nil, Errors{{Pos: file, Text: "found an empty file; want a recording", Hint: "export the recording again"}}
	}
	s := &textStream{form: "plain text"}
	text, err := s.decoded(raw, whole)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if at, is := binaryAt(s.head); is {
		return nil, Errors{{Pos: file, Text: fmt.Sprintf("byte %d: found binary data; want numbers as text, or a WAV recording", at),
			Hint: "export the recording as CSV"}}
	}
	s.rest = text
	return s, nil
}

// decoded fills the head and returns the text behind it.
func (s *textStream) decoded(raw []byte, whole io.Reader) (rest io.Reader, err error) {
	text := whole
	switch {
	case bytes.HasPrefix(raw, []byte{0xEF, 0xBB, 0xBF}):
		s.form = "UTF-8"
		io.CopyN(io.Discard, whole, 3)
	case bytes.HasPrefix(raw, []byte{0xFF, 0xFE}), len(raw) > 1 && raw[0] != 0 && raw[1] == 0:
		s.form = "UTF-16"
		text = &utf16Reader{r: whole, order: binary.LittleEndian}
	case bytes.HasPrefix(raw, []byte{0xFE, 0xFF}), len(raw) > 1 && raw[0] == 0 && raw[1] != 0:
		s.form = "UTF-16"
		text = &utf16Reader{r: whole, order: binary.BigEndian}
	default:
		s.plain, _ = whole.(io.ReaderAt)
	}
	s.head, err = beginning(text)
	s.whole = len(s.head) < headBytes && err == nil
	text = after(text, err)
	if bytes.IndexByte(s.head, '\n') < 0 && bytes.IndexByte(s.head, '\r') >= 0 {
		text = s.exchange(text, '\r')
	}
	return text, nil
}

// exchange makes line ends of a byte.
func (s *textStream) exchange(text io.Reader, of byte) io.Reader {
	s.plain = nil
	s.head, _ = beginning(exchanger{bytes.NewReader(s.head), of})
	return exchanger{text, of}
}

// exchanger makes a line end of every byte of one kind.
type exchanger struct {
	r  io.Reader
	of byte
}

func (e exchanger) Read(p []byte) (int, error) {
	n, err := e.r.Read(p)
	for i, c := range p[:n] {
		if c == e.of {
			p[i] = '\n'
		}
	}
	return n, err
}

// binaryAt finds the first byte that no text has, where there are many. Zeros
// do not count: some instruments pad with them.
func binaryAt(head []byte) (at int, is bool) {
	odd := 0
	isOdd := func(c byte) bool { return c != 0 && c < ' ' && (c < '\t' || c > '\r') }
	for _, c := range head {
		odd += one(isOdd(c))
	}
	if odd*100 < max(len(head), 100) {
		return 0, false
	}
	return slices.IndexFunc(head, isOdd), true
}

// utf16Reader gives UTF-16 as UTF-8 without a byte order mark. A lone last
// byte, cut off, is left out.
type utf16Reader struct {
	r     io.Reader
	order binary.ByteOrder
	raw   [8 << 10]byte
	kept  int    // bytes at the front of raw that wait for what follows
	text  []byte // decoded and not given yet
	begun bool
	err   error
}

func (u *utf16Reader) Read(p []byte) (int, error) {
	for len(u.text) == 0 {
		if u.err != nil {
			return 0, u.err
		}
		u.fill()
	}
	n := copy(p, u.text)
	u.text = u.text[n:]
	return n, nil
}

// fill decodes the next whole characters.
func (u *utf16Reader) fill() {
	n, err := u.r.Read(u.raw[u.kept:])
	n += u.kept
	u.err = err
	end := n &^ 1
	const leads, leadMask = 0xD800, 0xFC00
	if end >= 2 && err == nil && u.order.Uint16(u.raw[end-2:])&leadMask == leads {
		end -= 2 // the other half of the character comes with the next bytes
	}
	u.text = fromUTF16(u.raw[:end], u.order)
	u.kept = copy(u.raw[:], u.raw[end:n])
	if !u.begun && end > 0 {
		u.text = bytes.TrimPrefix(u.text, []byte("\uFEFF"))
		u.begun = true
	}
	if errors.Is(err, io.EOF) {
		u.kept = 0
	}
}
