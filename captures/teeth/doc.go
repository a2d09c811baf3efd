// Package teeth reads a recorded wave once, from front to back, and finds in it
// the teeth of the wheel that made it: when each passed, how high its voltage
// rose, how fast the engine turned, what noise lay beneath. It is an offline
// reader that looks ahead and back, sturdier than the comparator of any input;
// no threshold enters.
//
// The way of a sample:
//
//	window    a sliding block of the wave, and running sums of it (window.go)
//	run       takes it from there to the end (run.go); where the engine stands yet,
//	          it is noise (standstill.go)
//	scale     how long the pulses are, where nothing is known yet or the wave was
//	          lost (seek.go, scale.go)
//	finder    pulses, by a matched filter that follows their length (finder.go)
//	mark      a pulse measured (package pulses): fall through the rest level (rest.go; held
//	          where a clamp cuts the wave off unlike on its two sides: cut.go), peak
//	          (surveyor.go, package polyfit; where in noise: vertex.go)
//	numberer  which tooth of the wheel a mark is (package numbering), once it shows which
//	          wheel (package wheels) and polarity (swings.go, package polarity)
//	pipeline  hands the teeth to a goroutine that gathers what follows (pipeline.go), which
//	          shows them to whoever watches (watch.go), or keeps them to be played
//	          again (track.go), in strong noise where the wheel's even turning places
//	          them (placer.go), their peaks too (pulses.PeakCurve), which the mean of the wave
//	          about many teeth tells (matcher.go, package lobes)
//	noise     what is left when other teeth or other turns are taken away (comparing.go), or
//	          of the pauses between teeth that stand apart (pauses.go): package noise
//	          compares, counts it by size, takes tones out and tells the level
//	spikes    narrow rises at the same angle in turn after turn, as of sparks, which
//	          those comparisons hide (package spikes)
//	turn      one revolution, gathered by its speed into readings (turn.go, course.go,
//	          bins.go, readings.go, levelling.go), and what is beyond the whole ones (ends.go)
//	quality   what is to be said of the capture and the wheel (signal.go, twolevels.go,
//	          quality.go, toothfindings.go; the heights around the wheel: package rims)
//
// A cam's wheel is placed by the crank recorded beside it (camwheel.go), unless what
// its channel shows are the crank's teeth (copied.go): then it is measured without what
// it has of the crank's wave (uncouple.go).
//
// A position is a place in the wave in samples, counted from the first.
package teeth
