package replay

import "math"

// arch is a stretch of the wave above the firing level.
type arch struct {
	start  int64   // position of its first sample
	peakAt int64   // position of its highest sample
	fall   float64 // position where it falls through the firing level
	height float64 // of the highest sample, volts from rest, as clamped
}

// scanner cuts the wave into arches.
type scanner struct {
	halfV  float64 // the firing level below rest
	clampV float64
	up     bool
	last   float64 // the sample before
	now    arch    // under way
}

// scan goes through samples, the first at position first, and gives every arch
// that ends among them. They are volts from rest.
func (s *scanner) scan(first int64, v []float64, give func(arch)) {
	level := -s.halfV
	high, highAt := s.now.height, s.now.peakAt
	up := s.up
	for i, x := range v {
		if x > level {
			if !up {
				up = true
				s.now.start = first + int64(i)
				high = math.Inf(-1)
			}
			if x > high {
				high, highAt = x, first+int64(i)
			}
			continue
		}
		if !up {
			continue
		}
		up = false
		before := s.last
		if i > 0 {
			before = v[i-1]
		}
		a := s.now
		a.peakAt, a.height = highAt, min(high, s.clampV)
		a.fall = float64(first+int64(i)) - (level-x)/max(before-x, math.SmallestNonzeroFloat64)
		a.fall = max(a.fall, float64(first+int64(i)-1))
		give(a)
	}
	s.up = up
	s.now.height, s.now.peakAt = high, highAt
	if len(v) > 0 {
		s.last = v[len(v)-1]
	}
}

// interrupt forgets an arch under way, where samples are lacking.
func (s *scanner) interrupt() { s.up = false }
