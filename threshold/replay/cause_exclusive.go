package replay

import "math"

// exclusive is a cause that leaves nothing to count: the input was given
// another thing than the teeth of this wheel.
func exclusive(f Facts) (Cause, bool) {
	switch {
	case f.Copied != "" && f.NoWheel:
		return Cause{
			Kind: CrossTalk, Share: 1, Evidence: f.Copied,
			Advice: "Part the two sensors' wires, or use screened ones, earthed at one end", Not: "Do not change the table before the wiring is right",
		}, true
	case f.Signal == "square" || f.Signal == "other":
		return Cause{
			Kind: NotAReluctor, Share: 1, Evidence: f.SignalWhy,
			Advice: "Set the input up for this kind of sensor", Not: "A table of arming thresholds does not apply",
		}, true
	case f.Reversed:
		return Cause{
			Kind: ReversedPolarity, Share: 1, Evidence: f.PolarityWhy,
			Advice: "Swap the sensor's two wires, or the edge that the input counts on, then check the base timing before load",
			Not:    "Do not change the table before",
		}, true
	case f.WheelDiffers:
		return Cause{
			Kind: WheelDiffers, Share: 1, Evidence: f.WheelWhy,
			Advice: "State the wheel that is on the engine, and check that the channel is that of its sensor", Not: "Do not change the table before",
		}, true
	}
	return Cause{}, false
}

// isClean tells that nothing beside the teeth rises as high as any of them. The
// wheel of such a wave can be told, if it is one.
func (r *Replay) isClean() bool {
	unwantedV, weakestV, teeth := 0.0, math.Inf(1), int64(0)
	for _, w := range r.waves {
		unwantedV, weakestV = max(unwantedV, w.unwantedV), min(weakestV, w.weakestV)
		teeth += w.teeth
	}
	return unwantedV < weakestV && teeth >= fewestClean
}

const fewestClean = 20 // teeth
