// Package noise tells the noise under the teeth of a wave: how large it is, how often
// it crosses zero, which steady tones and which spikes are in it.
//
// The way of a sample: a Comparison takes the same stretch of other turns or other
// teeth from it (comparison.go), beside the teeth that a Schedule chooses; what is left
// is counted by size (residuals.go) for each method of comparing (methods.go), speed
// (atspeed.go) and part of the pitch. For a while it is kept in order as well
// (series.go), so that tones can be found (seriesspectrum.go, tonefinder.go) and taken
// out (toneseparator.go). The method that leaves least tells the Level (level.go).
// Where nothing turns, the spectrum alone parts tones from the rest (split.go).
package noise
