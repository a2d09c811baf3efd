// Package simulate makes captures of reluctor sensors whose truth is known:
// the wave of a toothed wheel in front of a coil, loaded, disturbed and
// recorded, with the instant and height of every tooth beside it.
//
// A Rig says what turns, what senses it and what records it. Open makes the
// wave block by block, so that its length costs no memory. The same Rig gives
// the same samples to the bit, whatever the size of the blocks (on processors
// that fuse multiply and add, to the last few bits).
//
// Physics, from the wheel to the file:
//
//	flux      each tooth adds a bump that widens and fades with its air gap (flux.go)
//	speed     a speed profile with compression ripple turns the wheel (speed.go)
//	coil      the emf drives the coil into its load (coil.go)
//	trouble   noise, tones, sparks, cross-talk, lost contact (noise.go and others)
//	recorder  offset, coupling, steps and range of the instrument (recorder.go)
//
// All of it is invented; no sensor, car or engine on sale is described.
package simulate
