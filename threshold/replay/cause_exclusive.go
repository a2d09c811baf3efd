package replay

// exclusive is a cause that leaves nothing to count: the input was given
// another thing than the teeth of this wheel.
func exclusive(f Facts) (Cause, bool) {
	switch {
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
			Advice: "State the wheel that is on the engine", Not: "Do not change the table before",
		}, true
	}
	return Cause{}, false
}
