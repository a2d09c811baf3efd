package wavfile

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"armcurve/captures"
)

// Options say what a WAV file cannot.
type Options struct {
	// Channels are those wanted: numbers from 1, or "left" and "right" of two;
	// none where there is only one.
	Channels []string
	// FullScaleV is the voltage, in volts, at which a sample is 1 or the largest
	// whole number; it must be known.
	FullScaleV captures.Maybe
	// VoltsTimes multiplies every sample; 0 is 1.
	VoltsTimes float64
	Invert     bool // the leads were swapped
}

// framesInBlock is how many samples of each channel a block has at most.
const framesInBlock = 8192

// wave is a recording as a source of blocks.
type wave struct {
	header
	file    string
	options Options
	volts   float64 // of full scale, with factor and sign
	chosen  []int
	start   int64 // the byte of the first sample

	r        *byteReader
	raw      []byte // frames that were read and not given
	room     []byte // what raw is a part of
	clips    []clips
	next     int64 // index of the next sample
	bad      int64 // samples that are no voltage
	firstBad int64 // the byte of the first
	cut      bool  // the file ended before its samples did
	err      error
}

// Open opens a WAV file; the name is that of the file, for messages. r is read
// from front to back and stays the caller's to close. The error is a Fault
// where the file or the options are to blame, here and from the source's Next.
func Open(r io.Reader, name string, o Options) (captures.Source, error) {
	w := &wave{file: name, options: o, r: &byteReader{r: r, file: name}}
	var err error
	if w.header, err = w.r.readHeader(); err != nil {
		return nil, err
	}
	w.start = w.r.at
	if w.chosen, err = w.choose(o.Channels); err != nil {
		return nil, err
	}
	if err := w.scale(o); err != nil {
		return nil, err
	}
	bottom, top := w.limits()
	w.clips = slices.Repeat([]clips{{bottom: bottom, top: top, last: math.NaN()}}, len(w.chosen))
	w.room = make([]byte, (framesInBlock+1)*w.frame())
	if w.read(); w.frames() < 2 {
		return nil, w.tooShort()
	}
	return w, nil
}

func (w *wave) frame() int  { return w.bytes * w.channels }
func (w *wave) frames() int { return len(w.raw) / w.frame() }

func (w *wave) tooShort() error {
	if w.err != io.EOF {
		return w.err
	}
	return w.r.fault(w.start, "", "found %d samples; want a recording of many", w.frames())
}

// scale finds the volts of full scale.
func (w *wave) scale(o Options) error {
	if !o.FullScaleV.Known {
		return w.r.fault(-1, "give --full-scale, the volts at the largest sample", "found a WAV recording, which says nothing of volts; want the voltage of full scale")
	}
	w.volts = o.FullScaleV.Value
	if o.VoltsTimes != 0 {
		w.volts *= o.VoltsTimes
	}
	if !(o.FullScaleV.Value > 0) || math.IsInf(w.volts, 0) || math.IsNaN(w.volts) {
		return w.r.fault(-1, "", "full scale is %g V; want more than 0", o.FullScaleV.Value)
	}
	if o.Invert {
		w.volts = -w.volts
	}
	return nil
}

// choose finds the channels wanted.
func (w *wave) choose(wanted []string) ([]int, error) {
	if len(wanted) == 0 && w.channels == 1 {
		return []int{0}, nil
	}
	if len(wanted) == 0 {
		return nil, w.r.fault(-1, "choose with --channel", "found %d channels, %s; want to know which", w.channels, w.listing())
	}
	var chosen []int
	for _, name := range wanted {
		c := w.channel(strings.TrimSpace(name))
		switch {
		case c < 0:
			return nil, w.r.fault(-1, "choose with --channel", "found no channel %q; want one of %s", name, w.listing())
		case slices.Contains(chosen, c):
			return nil, w.r.fault(-1, "", "channel %q is wanted twice", name)
		}
		chosen = append(chosen, c)
	}
	return chosen, nil
}

// channel finds a channel by name or number; −1 for none.
func (w *wave) channel(name string) int {
	for c := range w.channels {
		if strings.EqualFold(name, w.channelName(c)) || name == strconv.Itoa(c+1) {
			return c
		}
	}
	return -1
}

func (w *wave) channelName(c int) string {
	if w.channels == 2 {
		return [...]string{"left", "right"}[c]
	}
	return strconv.Itoa(c + 1)
}

func (w *wave) listing() string {
	if w.channels == 2 {
		return "1 (left), 2 (right)"
	}
	return fmt.Sprintf("1 to %d", w.channels)
}

// Info implements captures.Source.
func (w *wave) Info() captures.WaveInfo {
	words := []string{"WAV, " + w.String(), fmt.Sprintf("full scale %g V", math.Abs(w.volts))}
	info := captures.WaveInfo{File: w.file, StepS: 1 / float64(w.rate)}
	for _, c := range w.chosen {
		info.Channels = append(info.Channels, captures.Channel{Name: w.channelName(c)})
		if w.channels > 1 {
			words = append(words, fmt.Sprintf("channel %q", w.channelName(c)))
		}
	}
	if w.options.Invert {
		words = append(words, "inverted")
	}
	if w.err == io.EOF && len(w.raw) == 0 {
		words = append(words, fmt.Sprintf("%d samples", w.next))
	}
	info.ReadAs = strings.Join(words, ", ")
	return info
}

// read fills the room with frames. One more than is given at a time tells what
// comes behind a sample.
func (w *wave) read() {
	n := copy(w.room, w.raw)
	want := int64(len(w.room) - n)
	if w.size >= 0 {
		want = min(want, w.start+w.size-w.r.at)
	}
	m, err := io.ReadFull(w.r, w.room[n:n+int(want)])
	n += m
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		w.err = w.cutShort(n%w.frame() != 0)
	case err != nil:
		w.err = fmt.Errorf("%s: byte %d: %w", w.file, w.r.at, err)
	case w.size >= 0 && w.r.at == w.start+w.size:
		w.err = io.EOF
	}
	w.raw = w.room[:n-n%w.frame()]
}

// cutShort is io.EOF where the file ends with its samples or hardly before them, as
// within the last; and a fault where it has lost more.
func (w *wave) cutShort(withinFrame bool) error {
	const mostLost = 0.01
	lost := max(0, w.start+w.size-w.r.at)
	if w.size >= 0 && float64(lost) > mostLost*float64(w.size) {
		return w.r.fault(w.r.at, "copy or export the file again", "found the end of the file with %d of %d bytes of samples missing; want a whole recording", lost, w.size)
	}
	w.cut = w.size >= 0 || withinFrame
	return io.EOF
}

// Next implements captures.Source.
func (w *wave) Next(b *captures.Block) error {
	b.First = w.next
	for len(b.V) < len(w.chosen) {
		b.V = append(b.V, nil)
	}
	b.V = b.V[:len(w.chosen)]
	if w.err == nil {
		w.read()
	}
	n := min(w.frames(), framesInBlock)
	for i, c := range w.chosen {
		b.V[i] = slices.Grow(b.V[i][:0], n)[:n]
		w.decode(w.raw, c, b.V[i])
		w.toVolts(b.V[i], &w.clips[i], w.behind(n, c))
	}
	w.raw = w.raw[n*w.frame():]
	w.next += int64(n)
	if n > 0 {
		return nil
	}
	return w.ending()
}

// behind is the sample behind the first n frames, NaN where there is none.
func (w *wave) behind(n, channel int) float64 {
	if n >= w.frames() {
		return math.NaN()
	}
	var one [1]float64
	w.decode(w.raw[n*w.frame():], channel, one[:])
	return one[0]
}

const mostVolts = 1e9 // that a sample can be

// toVolts marks the samples of a channel that are out of range and scales all;
// next is the one behind them, NaN where there is none.
func (w *wave) toVolts(samples []float64, c *clips, next float64) {
	reach := mostVolts / math.Abs(w.volts)
	low, high := max(c.bottom, -reach), min(c.top, reach)
	volts, last := w.volts, c.last
	for i, x := range samples {
		if x > low && x < high {
			samples[i] = x * volts
		} else {
			behind := next
			if i+1 < len(samples) {
				behind = samples[i+1]
			}
			samples[i] = w.volt(c.mark(last, x, behind), w.next+int64(i))
		}
		last = x
	}
	c.last = last
}

// volt scales the sample of a frame; what no voltage can be is not a number.
func (w *wave) volt(x float64, frame int64) float64 {
	v := x * w.volts
	if v >= -mostVolts && v <= mostVolts || math.IsInf(v, 0) {
		return v
	}
	if w.bad++; w.bad == 1 {
		w.firstBad = w.start + frame*int64(w.frame())
	}
	return math.NaN()
}

// ending checks the wave behind its last sample.
func (w *wave) ending() error {
	const mostBad = 0.01
	if all := w.next * int64(len(w.chosen)); w.err == io.EOF && float64(w.bad) > mostBad*float64(all) {
		w.err = w.r.fault(w.firstBad, "", "found the first of %d of %d samples that are no voltage; want at most 1 %%", w.bad, all)
	}
	return w.err
}

// Findings implements captures.Source.
func (w *wave) Findings() []captures.Finding {
	list := []captures.Finding{{Kind: "ac-coupled", Severity: captures.Note,
		Text:   w.file + ": a sound card's input blocks direct voltage: the rest level wanders, and slow teeth come out smaller than they are",
		Advice: "do not rely on it below the speed at which teeth pass 20 times a second"}}
	var above, below int64
	for _, c := range w.clips {
		above += c.above
		below += c.below
	}
	if w.volts < 0 {
		above, below = below, above
	}
	if n := above + below; n > 0 {
		list = append(list, captures.Finding{Kind: "clipped", Severity: captures.Warning,
			Text:   fmt.Sprintf("%s: %d samples stand at the end of the range beside others alike, %d above and %d below", w.file, n, above, below),
			Advice: "record with less gain"})
	}
	if w.bad > 0 {
		list = append(list, captures.Finding{Kind: "bad-cells", Severity: captures.Warning,
			Text: fmt.Sprintf("%s: byte %d: %d samples are no voltage", w.file, w.firstBad, w.bad)})
	}
	if w.cut {
		list = append(list, captures.Finding{Kind: "cut-short", Severity: captures.Note,
			Text: fmt.Sprintf("%s: the file ends at byte %d, before its samples do", w.file, w.r.at)})
	}
	return list
}

// Close implements captures.Source.
func (w *wave) Close() error {
	if w.err == nil {
		w.raw, w.err = nil, errors.New(w.file+": closed")
	}
	return nil
}
