package simulate

import "armcurve/captures"

// plainReplay is a comparator in its plainest form, used only to see that a
// scenario shows what it is meant to: it arms above the table at the true mean
// speed and fires at the next fall through zero.
type plainReplay struct {
	missed, falseEvents, teeth  int
	firstMissRPM, firstFalseRPM float64
}

func replayPlainly(rig Rig, channel int, v []float64, teeth []Tooth, table Table) plainReplay {
	var out plainReplay
	motion := newMotion(rig.Speed, Ripple{})
	var events []float64
	armed := false
	for i := 1; i < len(v); i++ {
		atS := float64(i) / rig.SampleHz
		_, turnsPerS := motion.at(atS)
		if v[i] > table.At(60*turnsPerS) {
			armed = true
		}
		if armed && v[i] <= 0 {
			armed = false
			events = append(events, atS-v[i]/(v[i]-v[i-1])/rig.SampleHz)
		}
	}
	sensor := &rig.Sensors[channel]
	next := 0
	for _, tooth := range teeth {
		if tooth.Sensor != sensor.Name {
			continue
		}
		reachS := 0.3 * sensor.detail() / (tooth.RPM / 60 * sensor.perCrank())
		for next < len(events) && events[next] < tooth.TimeS-reachS {
			out.count(&out.falseEvents, &out.firstFalseRPM, tooth)
			next++
		}
		out.teeth++
		hit := false
		for next < len(events) && events[next] <= tooth.TimeS+reachS {
			if hit {
				out.count(&out.falseEvents, &out.firstFalseRPM, tooth)
			}
			hit = true
			next++
		}
		if !hit {
			out.count(&out.missed, &out.firstMissRPM, tooth)
		}
	}
	return out
}

func (r *plainReplay) count(n *int, firstRPM *float64, t Tooth) {
	if *n == 0 {
		*firstRPM = t.RPM
	}
	*n++
}

// channelOf is the index of a sensor's channel.
func channelOf(rig Rig, name string) int {
	for i := range rig.Sensors {
		if rig.Sensors[i].Name == name {
			return i
		}
	}
	return -1
}

var _ = captures.Crank
