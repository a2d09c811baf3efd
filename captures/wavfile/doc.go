// Package wavfile reads recordings in WAV files: RIFF and RF64 with whole
// numbers of 8, 16, 24 or 32 bits or floating point of 32 or 64.
//
// A WAV file knows no volts: the voltage of full scale has to be stated. And a
// sound card's input blocks direct voltage, so slow teeth come out small and
// the rest level wanders.
package wavfile
