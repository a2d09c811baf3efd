package wavfile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// header says how the samples are written.
type header struct {
	channels, rate int
	bytes          int  // of one sample
	bits           int  // of them in use, the high ones
	floating       bool // else whole numbers, of 8 bits without a sign
	// size is the number of bytes that the samples take; −1 where the file
	// does not say.
	size int64
}

// byteReader counts what was read.
type byteReader struct {
	r    io.Reader
	file string
	at   int64
}

func (b *byteReader) Read(p []byte) (int, error) {
	n, err := b.r.Read(p)
	b.at += int64(n)
	return n, err
}

func (b *byteReader) fault(at int64, hint, format string, args ...any) error {
	return Fault{File: b.file, Byte: at, Text: fmt.Sprintf(format, args...), Hint: hint}
}

// take reads n bytes; what names them in the error of a file that ends there.
func (b *byteReader) take(n int, what string) ([]byte, error) {
	p := make([]byte, n)
	_, err := io.ReadFull(b, p)
	return p, b.ended(err, what)
}

// skip passes over n bytes.
func (b *byteReader) skip(n int64, what string) error {
	_, err := io.CopyN(io.Discard, b, n)
	return b.ended(err, what)
}

func (b *byteReader) ended(err error, what string) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return b.fault(b.at, "", "found the end of the file in %s; want a whole recording", what)
	}
	return fmt.Errorf("%s: byte %d: %w", b.file, b.at, err)
}

const (
	unknownSize = 0xFFFFFFFF
	// streamedSize is the least size that a program states for samples that it
	// pipes, not knowing how many will come.
	streamedSize = 0x7FFFF000
)

// readHeader reads up to the first sample.
func (b *byteReader) readHeader() (h header, err error) {
	riff, err := b.take(12, "the header")
	if err != nil {
		return header{}, err
	}
	wide := bytes.HasPrefix(riff, []byte("RF64"))
	if !wide && !bytes.HasPrefix(riff, []byte("RIFF")) || string(riff[8:]) != "WAVE" {
		return header{}, b.fault(0, "", "found %q and %q; want RIFF or RF64, and WAVE", riff[:4], riff[8:])
	}
	wideSize := int64(-1)
	for {
		at := b.at
		chunk, err := b.take(8, "the header of a chunk before any samples")
		if err != nil {
			return header{}, err
		}
		name, size := string(chunk[:4]), int64(binary.LittleEndian.Uint32(chunk[4:]))
		switch {
		case name == "data" && h.channels == 0:
			return header{}, b.fault(at, "", "found samples before their format; want a fmt chunk first")
		case name == "data":
			h.size = sampleBytes(size, wide, wideSize)
			return h, nil
		case name == "fmt ":
			h, err = b.readFormat(at, size)
		case name == "ds64" && wide:
			wideSize, err = b.readWideSize(size)
		default:
			err = b.skip(size+size%2, fmt.Sprintf("chunk %q", name))
		}
		if err != nil {
			return header{}, err
		}
	}
}

// sampleBytes is the size of the samples, −1 where the file does not say it: a
// stream, or a recording that was never closed.
func sampleBytes(size int64, wide bool, wideSize int64) int64 {
	if wide && size == unknownSize {
		size = wideSize
	}
	if size == 0 || size >= streamedSize && !wide {
		return -1
	}
	return size
}

func (b *byteReader) readWideSize(size int64) (int64, error) {
	const least = 16
	if size < least {
		return 0, b.fault(b.at, "", "found a ds64 chunk of %d bytes; want at least %d", size, least)
	}
	sizes, err := b.take(least, "the ds64 chunk")
	if err != nil {
		return 0, err
	}
	return int64(binary.LittleEndian.Uint64(sizes[8:]) &^ (1 << 63)), b.skip(size+size%2-least, "the ds64 chunk")
}

// Formats of samples.
const (
	formatPCM        = 1
	formatFloat      = 3
	formatExtensible = 0xFFFE // says which one further behind
)

// subformatTail is what follows the format's number in an extensible header.
var subformatTail = []byte("\x00\x00\x00\x00\x10\x00\x80\x00\x00\xAA\x00\x38\x9B\x71")

// readFormat reads the fmt chunk that starts at the given byte.
func (b *byteReader) readFormat(at, size int64) (header, error) {
	const least, most, extensible = 16, 4096, 40
	if size < least || size > most {
		return header{}, b.fault(at+4, "", "found a format of %d bytes; want at least %d", size, least)
	}
	p, err := b.take(int(size+size%2), "the format")
	if err != nil {
		return header{}, err
	}
	le := binary.LittleEndian
	format, align := le.Uint16(p), int(le.Uint16(p[12:]))
	h := header{channels: int(le.Uint16(p[2:])), rate: int(le.Uint32(p[4:])), bits: int(le.Uint16(p[14:]))}
	place := at + 8
	if format == formatExtensible && size >= extensible {
		if !bytes.Equal(p[26:40], subformatTail) {
			return header{}, b.fault(place+24, convertHint, "found a format that is not known; want whole numbers or floating point")
		}
		place += 24
		format = le.Uint16(p[24:])
		if valid := int(le.Uint16(p[18:])); valid > 0 {
			h.bits = valid
		}
	}
	if format != formatPCM && format != formatFloat {
		return header{}, b.fault(place, convertHint, "found format %d; want whole numbers (1) or floating point (3)", format)
	}
	h.floating = format == formatFloat
	return h, b.checkFormat(at+8, &h, align)
}

const convertHint = "save the recording as 16-bit PCM"

// checkFormat checks the numbers of a format that starts at the given byte,
// and finds the size of a sample from that of all channels together.
func (b *byteReader) checkFormat(at int64, h *header, align int) error {
	const mostChannels, mostRate = 64, 1 << 30
	switch {
	case h.channels < 1 || h.channels > mostChannels:
		return b.fault(at+2, "", "found %d channels; want 1 to %d", h.channels, mostChannels)
	case h.rate < 1 || h.rate > mostRate:
		return b.fault(at+4, "", "found %d samples per second; want 1 to %d", h.rate, mostRate)
	case align == 0 || align%h.channels != 0:
		return b.fault(at+12, "", "found %d bytes for %d channels; want as many for each", align, h.channels)
	}
	h.bytes = align / h.channels
	switch {
	case h.floating && (h.bytes == 4 || h.bytes == 8) && h.bits == 8*h.bytes:
	case !h.floating && h.bytes <= 4 && h.bits >= 8 && h.bits <= 8*h.bytes:
	default:
		return b.fault(at+14, convertHint, "found samples of %d bits in %d bytes; want 8, 16, 24 or 32 bits, or floating point of 32 or 64", h.bits, h.bytes)
	}
	return nil
}

// String gives "16-bit PCM, 2 channels, 48000 Hz".
func (h header) String() string {
	kind := "PCM"
	if h.floating {
		kind = "floating point"
	}
	channels := "1 channel"
	if h.channels > 1 {
		channels = fmt.Sprintf("%d channels", h.channels)
	}
	return fmt.Sprintf("%d-bit %s, %s, %d Hz", h.bits, kind, channels, h.rate)
}
