package captures

// Channel is one column of a wave.
type Channel struct {
	Name string
	Unit string // as the file wrote it; the samples are in volts whatever it says
}

// WaveInfo tells how a wave was read.
type WaveInfo struct {
	File     string
	Channels []Channel // those that the blocks hold, in order
	StartS   float64   // the file's own time of the first sample, seconds
	StepS    float64   // seconds between samples, above 0 and finite
	// ReadAs says in a few words how the file was read: delimiter, units,
	// step, rows. For the line that echoes it.
	ReadAs string
}

// Block is a run of consecutive samples.
type Block struct {
	First int64 // index of the first sample in the wave, from 0
	// V[channel][i] is the sample First+i in volts. Every channel has the
	// same number of samples. +Inf and −Inf stand where the instrument said
	// that it ran out of range on that side, NaN where the file has no number.
	V [][]float64
}

// Len is the number of samples in the block.
func (b *Block) Len() int {
	if len(b.V) == 0 {
		return 0
	}
	return len(b.V[0])
}

// Source gives a wave from front to back, once.
type Source interface {
	// Info is valid as soon as the source is open. What only the end of the
	// wave can tell (bad lines, clipped cells) comes from Findings.
	Info() WaveInfo
	// Next fills b with the next samples, reusing its slices, and returns
	// io.EOF (and an empty block) after the last one. Another error names the
	// place in the file and ends the wave.
	Next(b *Block) error
	// Findings tells what was remarkable about reading the file, complete
	// after io.EOF.
	Findings() []Finding
	Close() error
}
