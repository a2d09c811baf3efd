// Package replay plays a recorded wave through the arming comparator of an
// input, tells which teeth it would have missed and what it would have counted
// beside them, and finds out why.
//
// A Replay is fed with a wave and its teeth, in the order of time, while the
// wave is being measured:
//
//	arch      what rises above the firing level and falls back (arch.go)
//	steps     the rest level as coarse steps have it (steps.go)
//	input     arms, fires and believes a speed; one for each table (input.go, speed.go)
//	match     events to teeth, arches to teeth (match.go)
//	heights   what any fixed threshold would have done, by speed (heights.go, byspeed.go)
//	surges    what rises in the gaps above the wave of other turns, and where (surge.go)
//	fault     a miss or a false event with its surroundings (fault.go, past.go, tone.go)
//
// Between two falls through the firing level the threshold cannot change, since
// only a counted event changes the speed that is believed. So all that a table
// can make of a wave lies in its arches: where each ends and how high it rose.
//
// When the wave is over, Replay.Result asks every cause (a file each, order in
// causes.go) how many of the faults vanish without it.
package replay
