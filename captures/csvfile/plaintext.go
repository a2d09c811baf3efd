package csvfile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"unicode/utf16"
	"unicode/utf8"
)

var errNotText = errors.New("found bytes that are not text; want text in UTF-8, UTF-16 or Latin-1")

// plainText returns a file's text as UTF-8 without a byte order mark and with
// line ends that contain "\n".
func plainText(raw []byte) ([]byte, error) {
	text := raw
	switch {
	case bytes.HasPrefix(raw, []byte{0xEF, 0xBB, 0xBF}):
		text = raw[3:]
	case bytes.HasPrefix(raw, []byte{0xFF, 0xFE}):
		text = fromUTF16(raw[2:], binary.LittleEndian)
	case bytes.HasPrefix(raw, []byte{0xFE, 0xFF}):
		text = fromUTF16(raw[2:], binary.BigEndian)
	case len(raw) > 1 && raw[0] != 0 && raw[1] == 0:
		text = fromUTF16(raw, binary.LittleEndian)
	case len(raw) > 1 && raw[0] == 0 && raw[1] != 0:
		text = fromUTF16(raw, binary.BigEndian)
	}
	if bytes.IndexByte(text, 0) >= 0 {
		return nil, errNotText
	}
	if !utf8.Valid(text) {
		text = fromLatin1(text)
	}
	if bytes.IndexByte(text, '\n') < 0 {
		text = bytes.ReplaceAll(text, []byte{'\r'}, []byte{'\n'})
	}
	return text, nil
}

// fromUTF16 decodes UTF-16; a lone last byte, cut off, is left out.
func fromUTF16(raw []byte, order binary.ByteOrder) []byte {
	units := make([]uint16, len(raw)/2)
	for i := range units {
		units[i] = order.Uint16(raw[2*i:])
	}
	return []byte(string(utf16.Decode(units)))
}

func fromLatin1(raw []byte) []byte {
	text := make([]byte, 0, len(raw)+len(raw)/8)
	for _, b := range raw {
		text = utf8.AppendRune(text, rune(b))
	}
	return text
}
